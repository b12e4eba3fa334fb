#pragma once
// The datagram by which round trips over an ordinary network are measured. It is no safety telegram and has no layout
// of one: it only is as long, so that the network treats it alike.
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>

#include "proto/time.hpp"

namespace sim {

/// What stands in it. All numbers with the highest byte first: a mark of 2 bytes, version and kind (4 bits each), `run`
/// (4 bytes), `number` (4), `answered_after` in nanoseconds (5), and then a filling that is always the same.
struct MeasuringDatagram {
    static constexpr std::size_t bytes_least = 16;  ///< its header; Ethernet fills up what is under 18 anyway
    static constexpr std::size_t bytes_most = 250;

    enum class Kind : std::uint8_t {
        ask = 1,       ///< wants an answer
        answer = 2,    ///< to the ask of the same number
        busy = 3,      ///< to an ask: somebody else is being answered
        farewell = 4,  ///< nothing more will be asked in this run; never answered
    };
    Kind kind = Kind::ask;
    std::uint32_t run = 0;           ///< drawn anew by whoever asks
    std::uint32_t number = 0;        ///< 0 for the first of a run
    proto::Duration answered_after;  ///< of an answer: from its ask's arrival to its sending, else 0

    friend bool operator==(const MeasuringDatagram&, const MeasuringDatagram&) = default;
};

/// The longest time that an answer can carry, 1099 s; a longer one is written as this.
inline constexpr proto::Duration answered_after_most{(std::int64_t{1} << 40) - 1};

/// Fills all of `into`, of bytes_least to bytes_most bytes.
void encode(const MeasuringDatagram& datagram, std::span<std::uint8_t> into);
/// Nothing if a byte differs from what encode() could have written. Any bytes at all may be given.
std::optional<MeasuringDatagram> decode_measuring(std::span<const std::uint8_t> bytes);

}  // namespace sim
