#pragma once
// What happens on the link under rehearsal, as plain facts. The drivers tell them at once (heard.hpp); who writes them
// down keeps them as they are (event_log.hpp).
#include <cstdint>
#include <optional>
#include <span>
#include <tuple>
#include <type_traits>

#include "proto/endpoint.hpp"
#include "sim/channel/passage.hpp"
#include "sim/plant/machine.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

/// A fresh process telegram was made. `signals` is the truth that it carries: one bit per signal of that direction as
/// the application computed it. Told before Sent.
struct Produced {
    Direction way = Direction::to_device;
    std::uint64_t signals = 0;
    Instant at{};
};

/// A telegram left an end. `instance` counts what that end produced, the same again for a repetition.
struct Sent {
    Direction way = Direction::to_device;
    proto::Transmission::Kind kind = proto::Transmission::Kind::none;
    std::uint64_t instance = 0;
    std::uint64_t signals = 0;            ///< as in Produced
    std::span<const std::uint8_t> bytes;  ///< valid while it is told
    Instant local{};                      ///< by the end's own clock
    Instant at{};
};

/// What the channel did with the telegram that was sent last. Perhaps several times.
struct Befell {
    Tag tag;
    Fate fate = Fate::touched;
    Instant at{};
};

/// The channel took a telegram for an end of the link under rehearsal: the one that was sent last as it travels on, or
/// one that a fault sends besides. Told after what befell it.
struct Underway {
    End to = End::device;
    Tag tag;
    std::span<const std::uint8_t> bytes;  ///< as they will arrive; valid while it is told
    bool beside = false;
    Instant due{};
    Instant at{};
};

/// A telegram reached an end. `tag` is the truth about it.
struct Delivered {
    End to = End::controller;
    Tag tag;
    std::span<const std::uint8_t> bytes;  ///< valid while it is told
    bool power_on = true;                 ///< of the end; else the telegram is lost
    Instant at{};
};

/// Why a telegram that reached an end was never looked at.
enum class WhyUnheard : std::uint8_t {
    power_off,   ///< the end was without power
    queue_full,  ///< more came in one scan than the end's queue holds
    forgotten,   ///< it still waited when the end lost its power
    missed,      ///< nobody knows: of a live run, lost behind the channel
};

/// The one that reached that end last (`forgotten`: all that still wait there) will not be looked at.
struct Unheard {
    End end = End::controller;
    WhyUnheard why = WhyUnheard::missed;
};

/// The scan of an end in which telegrams were looked at.
struct Scanned {
    End end = End::controller;
    Instant local{};  ///< by the end's own clock
    Instant at{};
};

/// What an end made of a telegram: the oldest one that waits there.
struct Concluded {
    End end = End::controller;
    proto::Token token;
    proto::Verdict verdict;
    Instant at{};
};

/// An end changed its state.
struct Changed {
    End end = End::controller;
    proto::Transition transition;
    Instant at{};
};

/// A connection was made at the sending end of `way`: what it sent before can no longer be expected by the other.
struct Connected {
    Direction way = Direction::to_device;
    Instant at{};
};

/// The acknowledgement contact closed; `counted` is false if nothing was requested.
struct Acknowledged {
    bool counted = false;
    Instant at{};
};

/// After a scan of `end` in which a telegram was accepted or the state changed: what its application uses now.
struct InUse {
    End end = End::controller;
    std::uint64_t signals = 0;
    Instant at{};
};

/// That end's outputs went off without it: its power is gone, or an independent watchdog did it.
struct OutputsOff {
    End end = End::controller;
    Instant at{};
};

/// A safeguard's contact opened; satisfied when all of `signals` are 0 at the output's end. Without any it reaches no
/// output.
struct Demanded {
    std::size_t demand = 0;  ///< index in Scenario::demands
    std::uint64_t signals = 0;
    Instant at{};
    std::uint64_t modes = 0;  ///< that act, one bit each
    bool muted = false;       ///< as designed: it brings down less than else
    bool way_runs = true;     ///< so do the other links of a cell on its way
};

/// A safeguard's contact opened, and its machines are at other links of the cell.
struct DemandedElsewhere {
    std::size_t demand = 0;  ///< index in Scenario::demands
    Instant at{};
};

/// Signals as the output's end uses them, after its scan, while a demand is open.
struct OutputUsed {
    std::uint64_t signals = 0;
    Instant at{};
};

/// The drive was commanded, or (nothing) the machine was started.
struct MachineTold {
    std::optional<DriveCommand> command;
    Instant at{};
    bool speeds_up = false;  ///< with the command run: from reduced to full speed, without a start
};

/// A safeguard's signal turned at the end that reads it: contacts, latch and discrepancy taken together.
struct Contacted {
    std::size_t safeguard = 0;  ///< index in Scenario::safeguards
    bool free = true;
    Instant at{};
};

/// The drive no longer obeys a demand for its reduced speed, or does so again.
struct DriveSlows {
    bool slows = true;
    Instant at{};
};

/// The application of an end computed other values for the signals that it sends: one bit per signal.
struct Computed {
    End end = End::controller;
    std::uint64_t signals = 0;
    Instant at{};
};

/// A fault touched something. `since` is when it began to act (for a fault with a duration: its begin, or the sending
/// of the first telegram touched if it has a condition; else that of this telegram).
struct Touched {
    std::size_t fault = 0;  ///< index in Scenario::faults
    Direction way = Direction::to_device;
    Instant since{};
    Instant at{};
};

/// From this scan on the telegrams of that way carry these values: what they mean at their source. Told where there
/// are values, before Produced, when they are others than before.
struct ValuesMeant {
    Direction way = Direction::to_device;
    ValueWord values;
    bool running = false;  ///< the end that sends them; else they are all substitutes
    Instant at{};
};

/// Values as an end uses them, told where there are any after InUse.
struct ValuesInUse {
    End end = End::controller;
    ValueWord values;
    Instant at{};
};

/// The value that lowers the machine's reduced speed does so from now on.
struct SpeedLimited {
    std::int64_t um_s = 0;
    Instant at{};
};

/// Told only where a scenario has values.
template <class F>
inline constexpr bool is_of_values =
    std::is_same_v<F, ValuesMeant> || std::is_same_v<F, ValuesInUse> || std::is_same_v<F, SpeedLimited>;

/// Every fact that is told.
using Facts = std::tuple<Produced, Sent, Befell, Underway, Delivered, Unheard, Scanned, Concluded, Changed, Connected,
                         Acknowledged, InUse, OutputsOff, Demanded, DemandedElsewhere, OutputUsed, MachineTold, Touched,
                         Contacted, Computed, DriveSlows, ValuesMeant, ValuesInUse, SpeedLimited>;

}  // namespace sim
