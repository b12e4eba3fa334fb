#pragma once
// The settings of one end of a link, as a person types them there, and the part of them on which both ends must agree.
#include <array>
#include <cstdint>
#include <optional>

#include "proto/profile.hpp"
#include "proto/result.hpp"
#include "proto/time.hpp"

namespace proto {

enum class End : std::uint8_t { controller, device };
constexpr End other(End e) { return e == End::controller ? End::device : End::controller; }

enum class Exchange : std::uint8_t {
    polled,     ///< the controller repeats its telegram until the answer feeds its number back
    streaming,  ///< each end sends in each cycle and supervises what arrives
};

/// What an end does with a rejected telegram besides rejecting it.
enum class Reaction : std::uint8_t {
    trip,     ///< safe state at once
    discard,  ///< run on, unless the previous counted error is younger than the error interval
};

enum class ByteOrder : std::uint8_t {
    high_first,  ///< payload bytes as written
    low_first,   ///< each pair of payload bytes exchanged (a 16-bit word sent low byte first)
};

/// What the sequence number of received telegrams is for.
enum class NumberUse : std::uint8_t {
    judged,    ///< a number out of order is rejected
    fed_back,  ///< it is only sent back; exists only to look at a link without the sequence check
};

/// Which payload bits are in use; bit b of byte k is bits[k] >> b & 1.
using BitUse = std::array<std::uint8_t, payload_bytes_max>;

/// What both ends must agree on. This, and nothing else, is under the parameter signature.
struct LinkParameters {
    std::uint32_t controller_address = 0;
    std::uint32_t device_address = 0;
    Exchange exchange = Exchange::polled;
    std::uint32_t profile_identity = 0;
    std::uint16_t payload_to_device = 0;      ///< bytes
    std::uint16_t payload_to_controller = 0;  ///< bytes
    std::uint32_t bits_to_device = 0;         ///< digest of the bits in use, not of what they mean
    std::uint32_t bits_to_controller = 0;
    ByteOrder byte_order = ByteOrder::high_first;
    std::uint32_t cycle_us = 0;
    std::uint32_t watchdog_controller_us = 0;
    std::uint32_t watchdog_device_us = 0;
    std::uint8_t missing_allowed = 0;
    std::uint8_t claimed_level = 0;  ///< safety integrity level 1..4
    friend bool operator==(const LinkParameters&, const LinkParameters&) = default;
};

/// What a polled device does with several good telegrams that it finds in one scan.
enum class Answers : std::uint8_t {
    each,        ///< an answer to each, all under the newest number
    one_a_scan,  ///< one to all of them
};

struct LinkSettings {
    End end = End::controller;
    Profile profile;
    Exchange exchange = Exchange::polled;
    std::uint32_t own_address = 0;
    std::uint32_t peer_address = 0;
    unsigned payload_sent = 8;      ///< bytes, 1..250
    unsigned payload_received = 8;  ///< bytes, 1..250
    BitUse bits_sent{};
    BitUse bits_received{};
    ByteOrder byte_order = ByteOrder::high_first;
    Duration cycle = milliseconds(10);          ///< of the exchange; the controller scans in it
    Duration scan = milliseconds(10);           ///< of this end: equals cycle at the controller
    Duration watchdog = milliseconds(50);       ///< of this end
    Duration peer_watchdog = milliseconds(50);  ///< of the other end
    Reaction reaction = Reaction::trip;
    Duration error_interval = seconds(360);  ///< for discard
    Answers answers = Answers::each;         ///< polled device
    unsigned missing_allowed = 0;            ///< streaming: numbers that may be missing in a row
    NumberUse number_use = NumberUse::judged;
    std::optional<unsigned> max_lag;  ///< streaming with feedback: own number minus fed-back number at most
    Duration max_age{};               ///< with time stamps: the longest round trip that is accepted, or, by the
                                      ///< sender's clock, the highest age
    Duration max_early{};             ///< by the sender's clock: how far an age may lie below 0
    unsigned claimed_level = 2;       ///< safety integrity level 1..4
};

enum class SettingsFault : std::uint8_t {
    profile,              ///< see profile_fault
    address_too_wide,     ///< an address does not fit the profile's field
    polled_needs_number,  ///< polled with a sequence number under 2 bits
    polled_feedback,      ///< polled with a separate feedback field: the answer's number already is the feedback
    streaming_needs_number,
    missing_allowed,   ///< missing_allowed + 1 >= 2^(bits - 1), or not 0 in polled
    max_lag,           ///< without feedback, in polled, or over half the number range
    cycle,             ///< not within 100 us .. 10 s, or no whole microseconds
    scan,              ///< the same; at the controller it must equal the cycle
    watchdog,          ///< not over one cycle, over 1 h, or no whole microseconds
    error_interval,    ///< negative
    max_age,           ///< missing with time stamps, set without, over half the stamp's range, or so long that
                       ///< with a watchdog's time it fills that range
    max_early,         ///< under one unit with the sender's clock, set without, or so long that with the highest age
                       ///< and a watchdog's time it fills the stamp's range
    claimed_level,     ///< not 1..4
    loop_back_unseen,  ///< neither direction nor addresses tell an own telegram from the peer's
    without_crc,
    number_not_judged,  ///< NumberUse::fed_back outside a look at one measure alone
};

struct SettingsError {
    SettingsFault fault{};
    std::optional<ProfileFault> profile_fault;  ///< for SettingsFault::profile
};

/// The first fault, or none.
std::optional<SettingsError> fault_in(const LinkSettings& settings, ProfileUse use = ProfileUse::link);

/// The agreed part, the same from both ends if they agree.
LinkParameters parameters_of(const LinkSettings& settings);

}  // namespace proto
