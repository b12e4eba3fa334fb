#pragma once
// The communication errors and the ways in which they come about.
#include <cstdint>
#include <string_view>

namespace sim {

enum class ErrorKind : std::uint8_t {
    corruption,
    repetition,
    incorrect_sequence,
    loss,
    delay,
    insertion,
    masquerade,
    addressing,
    none,  ///< none of the eight: an end fails, not the way between
};
std::string_view name_of(ErrorKind error);  ///< as in JSON: "incorrect-sequence"; "none" there is null

/// The ways in which an error comes about. Each belongs to one error.
enum class FaultWay : std::uint8_t {
    // corruption
    flip_bits,    ///< the bit indices listed in `bits`
    random_bits,  ///< `count` different random bits
    burst,        ///< a burst of `length` bits (first and last flipped), in the CRC's own bit order
    bit_rate,     ///< each bit with probability `rate`
    truncate,     ///< `count` bytes cut off the end
    // repetition
    beside,          ///< the telegram `back` earlier, in addition to the new one
    instead,         ///< the telegram `back` earlier, in place of the new one
    current_again,   ///< the same telegram twice
    old_parameters,  ///< the last parameter telegram of an earlier start
    // incorrect sequence
    hold,  ///< held for `hold`, delivered after later ones
    // loss
    drop,  ///< so many telegrams as `times` says, or all within `lasting`
    // delay
    step,      ///< `extra` latency while it lasts
    creeping,  ///< `extra` more in every second while it lasts
    // insertion
    neighbour,  ///< a telegram of the neighbour link beside the right one
    stray,      ///< own addresses, valid CRC, from an earlier start
    // masquerade
    no_crc,     ///< right length, addresses, number; CRC field zero
    other_crc,  ///< the same with the CRC of another integrity system (CRC-16/ARC, repeated to the field's width)
    all_zero,   ///< all bytes zero
    // addressing
    swap,       ///< this link's telegrams to the neighbour and the neighbour's to this one
    loop_back,  ///< the sender's own telegram back to it
    // no error of the way: something fails at one end, `at_end`
    restart,      ///< its power is off for `lasting`, then it starts anew
    stall,        ///< its scans do not happen for `lasting`; outputs stay as they are
    frozen_data,  ///< its application takes in no new values, while the link lives on
    clock_drift,  ///< its clock is fast by `drift_ppm` millionths
    /// The drive takes a demand for its reduced speed and goes on as fast; stops it obeys.
    drive_does_not_slow,
    // addressing; last, since stores of campaigns keep these by number
    misdeliver,  ///< this link's telegrams to the neighbour, which keeps its own
};
std::string_view name_of(FaultWay way);
ErrorKind error_of(FaultWay way);

/// A named part of a telegram for corruption; whole: any bit.
enum class TelegramField : std::uint8_t { whole, status, address, sequence, payload, crc };

}  // namespace sim
