#pragma once
// What a capture says about itself, so that its telegrams can be read without any other file: kept as TOML in a comment
// of its section header.
#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "proto/link_settings.hpp"
#include "sim/channel/passage.hpp"
#include "sim/scenario/ends.hpp"
#include "sim/scenario/values.hpp"

namespace sim {

struct Scenario;

/// Where in the link a packet was seen: the four interfaces of a capture of ours, in this order; of several links
/// those of the first, then those of the second.
enum class Hop : std::uint8_t { controller_to_channel, channel_to_device, device_to_channel, channel_to_controller };
inline constexpr unsigned hop_count = 4;
constexpr Direction direction_of(Hop hop) {
    return hop == Hop::controller_to_channel || hop == Hop::channel_to_device ? Direction::to_device
                                                                              : Direction::to_controller;
}
/// The telegram has passed the channel and reaches an end.
constexpr bool arrives(Hop hop) { return hop == Hop::channel_to_device || hop == Hop::channel_to_controller; }
constexpr Hop sent_hop(Direction direction) {
    return direction == Direction::to_device ? Hop::controller_to_channel : Hop::device_to_channel;
}
constexpr Hop arriving_hop(End end) { return end == End::device ? Hop::channel_to_device : Hop::channel_to_controller; }

/// One end as far as its telegrams go.
struct CapturedEnd {
    std::string name;
    proto::LinkSettings link;
    unsigned own_digits = usual_address_digits, peer_digits = usual_address_digits;  ///< see TypedAddress
    struct Bit {
        std::string signal;
        Direction direction = Direction::to_device;
        BitPlace place;
    };
    std::vector<Bit> bits;
    /// A value as this end has it.
    struct Number {
        std::string name;
        Direction direction = Direction::to_device;
        ValueUnit unit = ValueUnit::none;
        std::int64_t low = 0, high = 0;  ///< its range
        SafeEnd safe = SafeEnd::low;
        TypedValue typed;
    };
    std::vector<Number> values = {};
};

struct CaptureSettings {
    std::string version;  ///< of the program that wrote it
    std::string title;    ///< of the scenario
    std::string scenario_file;
    std::string link = {};  ///< one of several: its name
    std::uint64_t seed = 0;
    std::uint64_t digest = 0;  ///< of the run's trace
    bool live = false;
    std::int64_t begun_ns = 0;  ///< stamp of the run's begin: nanoseconds since 1970; in virtual time 0
    CapturedEnd controller, device;

    [[nodiscard]] const CapturedEnd& end(End e) const { return e == End::controller ? controller : device; }
};

/// Of a scenario; version, seed, digest and begin are the caller's.
CaptureSettings settings_of(const Scenario& scenario);

/// The first line of such a comment.
inline constexpr std::string_view settings_mark = "# linkdrill capture 1: what is needed to read its telegrams (TOML)";

/// As a comment; read_capture_settings() reads it back. The digest stands in it as digest_text(). A capture of several
/// links has one for each, in the order of their interfaces.
std::string written(const CaptureSettings& settings);
/// `digest = "0x..."`, always of the same length.
std::string digest_text(std::uint64_t digest);

}  // namespace sim
