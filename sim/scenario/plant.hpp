#pragma once
// The plant: safeguards, the signals that they set, the machine, and what is counted of its stop and around the link.
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sim/scenario/distance_case.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {

/// What a safeguard is, where the scenario says it: some kinds ask for more than others.
enum class GuardKind : std::uint8_t { mat, curtain, field, interlocked_guard, emergency_stop, two_hand, enabling };
/// "mat", "two-hand".
std::string_view name_of(GuardKind kind);

/// What protects people or stops the machine by hand: curtain, mat, interlocked door, rope pull, emergency stop.
struct Safeguard {
    std::string name;
    End at = End::controller;  ///< the end that reads it
    Duration delay{};          ///< from the demand to its contact (sensor response time)
    Duration minimum_hold{};   ///< a demand is held at least so long; 0: as long as least_hold() says
    Place where;
    unsigned channels = 1;   ///< 1 or 2 contacts; any of them takes the signal away
    Duration discrepancy{};  ///< two channels: for how long they may differ before the safeguard is latched in a fault
    bool latched = false;    ///< stays off after a demand until somebody resets it (emergency stop, rope pull)
    std::optional<GuardKind> kind = {};
    /// Why no safety function needs it, where the scenario says `function = "none"`; empty: it does not.
    std::string no_function = {};
};

inline constexpr std::size_t modes_max = 16;

/// A way of running that somebody selects, such as setting up. Exactly one is selected; the first one of a scenario is
/// so at first.
struct Mode {
    std::string name;
    Duration takes{};  ///< until it is selected alone: meanwhile what both modes ask for is asked
    Place where;
};

/// Lets a signal be 1 although its guard is interrupted, as by a workpiece that two sensors see (muting as designed).
struct Muting {
    std::string first, second;  ///< safeguards of no function: interrupted means seen
    Duration order_within{};    ///< the second of them so long after the first at most
    Duration at_most{};         ///< it lasts no longer, whatever they see
};

/// A safe bit: 1 only while every source is 1 (no demand). Substitute value 0, which asks for the safe state; only that
/// of a second bit does not, so nothing but its pair may use one.
struct Signal {
    std::string name;
    Direction direction = Direction::to_device;
    /// Names of safeguards at the sending end, of signals that this end receives, and of modes (1 while selected
    /// alone).
    std::vector<std::string> all_of;
    Place where;
    std::vector<std::string> any_of = {};   ///< the same: one of them is enough; empty: none is asked for
    std::vector<std::string> in_mode = {};  ///< in other modes it is 1 whatever its sources are; empty: asked in all
    /// A demand lets it fall so much later; a failure of the link takes it at once.
    Duration off_delay = {};
    std::optional<Muting> muted_by = {};
    /// The second bit of a pair: sent as the complement of that signal and read together with it, by nobody alone.
    /// Empty: it is none.
    std::string inverse_of = {};
    Duration discrepancy = {};  ///< of a second bit: for how long both may be equal before the pair is latched at 0
    /// Of another link of the cell: the controller knows it, this link does not carry it.
    bool elsewhere = false;

    /// That end computes it for this link, or has it from this link.
    [[nodiscard]] bool sent_at(End end) const { return !elsewhere && sender(direction) == end; }
    [[nodiscard]] bool received_at(End end) const { return !elsewhere && receiver(direction) == end; }
    /// An application there may use it: it arrives there, or by another link.
    [[nodiscard]] bool known_at(End end) const {
        return elsewhere ? end == End::controller : receiver(direction) == end;
    }
};

/// The second bit of the pair that a signal is the first of; nullptr where it is read alone.
const Signal* second_of(const std::vector<Signal>& signals, std::string_view first);
/// Some pair is made of that source, in the end.
bool feeds_a_pair(const std::vector<Signal>& signals, std::string_view source);

/// What it is made of, whether all or any of them are asked for.
std::vector<std::string> sources_of(const Signal& signal);
bool is_made_of(const Signal& signal, std::string_view source);

/// Those signals, and all that they are made of, in the end; one bit each.
std::uint64_t made_of(const std::vector<Signal>& signals, std::uint64_t wanted);

enum class StopCategory : std::uint8_t { category_0, category_1, category_2, reduced_speed };  ///< IEC 60204-1, 9.2
/// "category-0", "reduced-speed".
std::string_view name_of(StopCategory stop);

/// What the machine does when a signal is 0.
struct MachineReaction {
    std::string signal;
    StopCategory stop = StopCategory::category_0;
    Place where;
};

/// What holds the load once the power is gone (category 0). Without one, `braking` begins with the drive's reaction.
struct Brake {
    Duration delay{};    ///< from the drive's reaction until it grips
    bool drops = false;  ///< a vertical load: in that time it falls freely towards the danger, else it goes on as it is
};

/// Safely limited speed (IEC 61800-5-2, from memory): once the machine should have come down, a speed over the reduced
/// one by more than `over` for longer than `lasting` stops it.
struct SpeedMonitor {
    std::int64_t over_um_s = 0;
    Duration lasting{};
    StopCategory then = StopCategory::category_0;
};

/// The dangerous motion, in micrometres per second so that times stay exact.
struct Machine {
    std::string name = "machine";  ///< "press", "table", "lift"
    End at = End::device;
    Duration reaction_delay{};            ///< drive: from the output command to the first change
    std::int64_t speed_um_s = 0;          ///< full speed
    std::int64_t reduced_speed_um_s = 0;  ///< 0: none
    std::int64_t braking_um_s2 = 0;       ///< deceleration, power removed (category 0)
    std::int64_t ramp_um_s2 = 0;          ///< controlled deceleration (categories 1, 2, reduced speed)
    std::optional<Brake> brake = {};
    std::int64_t gravity_um_s2 = 9'806'650;  ///< standard acceleration of gravity, ISO 80000-3
    /// There and back again, once and again: the way of the point whose speed counts; 0 where positions do not matter.
    std::int64_t travel_um = 0;
    std::int64_t travel_angle_mdeg = 0;  ///< the same travel of a turning machine, 0.001 degree; 0: it does not turn
    std::optional<Duration> output_watchdog = {};  ///< switches the output off when its end does not scan for so long;
                                                   ///< an independent circuit of its own, else nothing does
    std::vector<MachineReaction> reactions;
    std::optional<SpeedMonitor> reduced_speed_monitor = {};
    /// A value received at this end that lowers the reduced speed, never raises it; empty: none does.
    std::string reduced_speed_from = {};
};

/// Which guard's distance is reckoned, by which rule, and how far it stands from the hazard.
struct GuardDistance {
    std::string safeguard;
    DistanceCase how;
    std::optional<std::int64_t> there_um;  ///< at hand; nothing: only what is needed is asked for
    Place where;
};

/// What of the machine's stop may be counted.
struct Stopping {
    bool ramp_monitored = false;             ///< something stops the machine at once if it leaves its ramp
    bool standstill_monitored = false;       ///< the same for a machine that stands with its power on (category 2)
    bool reduced_speed_ends_hazard = false;  ///< says the risk assessment
    std::optional<Duration> power_off_after = {};  ///< ramp not monitored: the power goes so long after the command;
                                                   ///< nothing: after the time that the ramp should take
    std::string measured_file = {};
    std::vector<Duration> measured = {};  ///< ten or more: output command to standstill, worst position and load
};

/// A part of the response outside the link and its plant: a relay, another link.
struct OutsidePart {
    enum class Place : std::uint8_t { before_link, after_link };
    std::string name;
    Place at = Place::before_link;
    Duration delay{};
    Duration with_fault{};
    std::string source;
    // Of a cell, where another link of it is such a part.
    std::vector<std::string> safeguards = {};  ///< whose demands go over it; empty: all
    std::string link = {};                     ///< its name
    unsigned segment = 0;   ///< with which others one episode may disturb it, see Scenario::segment; 0: with none
    bool no_bound = false;  ///< nothing limits its delay: `with_fault` says nothing
};

/// A demand of that safeguard goes over it; without one, what goes over it always.
bool is_on_way_of(const OutsidePart& part, std::string_view safeguard);

}  // namespace sim
