#pragma once
// What a rehearsal found. Times named after_... count from the injection, in nanoseconds; -1 never stands for
// "none": what does not exist is an empty optional.
#include <cmath>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "proto/endpoint.hpp"
#include "sim/judge/part.hpp"
#include "sim/scenario/ends.hpp"
#include "sim/scenario/errors.hpp"

namespace sim {

enum class Outcome : std::uint8_t {
    safe_state,
    tolerated,
    no_effect,
    dangerous,
    not_fired,
    never_ran,  ///< the link had not run by then; last, since stores of campaigns keep these by number
};
inline constexpr std::size_t outcome_count = static_cast<std::size_t>(Outcome::never_ran) + 1;
std::string_view name_of(Outcome outcome);

enum class RunVerdict : std::uint8_t { pass, fail, dangerous, not_judged };
std::string_view name_of(RunVerdict verdict);

struct InjectionResult {
    std::size_t fault = 0;  ///< index in Scenario::faults
    ErrorKind error = ErrorKind::corruption;
    Direction direction = Direction::to_device;  ///< of the first telegram touched
    bool both_ways = false;
    std::optional<End> at_end = {};  ///< the end that failed, for a fault of no way
    Duration at{};                   ///< run time of the injection: when it first touched a telegram
    std::uint64_t telegrams = 0;     ///< telegrams touched
    Outcome outcome = Outcome::not_fired;
    bool latent = false;
    std::optional<proto::Measure> detected_by;
    proto::MeasureSet also_by;
    std::optional<proto::Measure> owing_to;  ///< the measure that did the work when an implied field made the CRC fail
    std::optional<End> detected_end;
    std::optional<Duration> detect;
    std::optional<Duration> safe_state_controller, safe_state_device;
    /// First moment from which a machine that moved stayed at or under its reduced speed; 0 if it was so already.
    std::optional<Duration> reduced = {};
    std::optional<Duration> standstill;             ///< of a machine that moved: stood, with a stop in force
    std::optional<std::int64_t> travelled_um = {};  ///< from the injection to standstill
    std::optional<std::int64_t> stopping_um = {};   ///< from the output command to standstill
    std::optional<Duration> allowed;  ///< from the injection to standstill; nothing where none can be stated
    bool within_limit = true;
    bool ran_on = false;  ///< at reduced speed, which does not end the hazard: never within the limit
    bool as_expected = true;
    std::string expected;  ///< in words, empty if nothing was expected
    std::string why;       ///< one sentence: why dangerous, why not as expected, why counted so
};

/// A demand's way over the link once: one signal, at the end that sends it and at the end that uses it. All times from
/// the contact; nothing where it was not seen.
struct DemandHop {
    std::size_t signal = 0;            ///< index in Scenario::signals
    std::optional<Duration> computed;  ///< 0 at its sender
    std::optional<Duration> sent;      ///< the first telegram with the 0 left
    std::optional<Duration> received;  ///< 0 in use at its receiver, whatever made it so
    bool was_zero = false;             ///< when the contact opened: in use as 0, or another safeguard made it so
    std::string link = {};             ///< of a cell: which of its links
};

/// A demand, from the opening of its contact.
struct DemandResult {
    std::size_t demand = 0;      ///< index in Scenario::demands
    Duration at{};               ///< run time of the contact
    std::uint64_t modes = 0;     ///< that acted, one bit each
    bool muted = false;          ///< as designed: it asks for less than else
    bool reaches_output = true;  ///< by the wiring in these; else it asks for nothing there
    bool link_ran = false;       ///< both ends, when the contact opened
    bool moved = false;          ///< the machine, when the contact opened
    bool slowed = false;         ///< it was commanded to its reduced speed already
    bool stopping = false;       ///< a stop was under way already
    /// Until a start, its guard free again by then, cut short what was commanded, and until it would have come to that.
    std::optional<Duration> set_going, would_be_reduced, would_stand;
    std::optional<Duration> response;          ///< until the output had it
    std::optional<Duration> command;           ///< of the drive: the first one after the contact
    std::optional<Duration> reduced;           ///< as of an injection
    std::optional<Duration> standstill;        ///< of a machine that moved
    std::optional<std::int64_t> travelled_um;  ///< from the contact to standstill
    std::optional<std::int64_t> stopping_um;   ///< from the output command to standstill
    std::vector<DemandHop> hops;               ///< in the order of the way; empty where nobody looked
    std::string machine = {};                  ///< of a cell: which of its machines
};

enum class Met : std::uint8_t { yes, no, not_shown };
/// "met", "not met", "not shown".
std::string_view words_of(Met met);

/// What a demand showed of one function's one reaction.
struct FunctionRow {
    std::size_t result = 0;    ///< index in RunResult::demands
    std::size_t function = 0;  ///< index in Scenario::functions
    std::size_t must = 0;      ///< index in its list
    Met met = Met::not_shown;
    std::optional<Duration> took;     ///< from the contact to the end of the hazard
    std::optional<Duration> allowed;  ///< from the contact; nothing where no limit is stated
    std::string why;                  ///< why not, why not shown, or what else made it stop
};

/// A function over all demands of a run.
struct FunctionResult {
    std::size_t function = 0;
    Met met = Met::not_shown;  ///< yes only if each safeguard, alone, from free and moving, caused all that it must
    std::optional<Duration> worst, within;    ///< from the demand, sensor included
    std::vector<std::string> never_demanded;  ///< its safeguards
    std::string why;
};

/// What a run showed of one value, at the end that receives it.
struct ValueResult {
    std::size_t value = 0;                        ///< index in Values::all
    std::optional<std::int64_t> lowest, highest;  ///< in use, substitutes left out; nothing: never in use
    std::uint64_t substitutes = 0;                ///< times that its substitute took its place while the end ran
    std::uint64_t out_of_range = 0;               ///< telegrams read outside the range that meant something within it
    std::uint64_t towards_safe = 0;               ///< changes at the source that permit less than before
    std::optional<Duration> slowest;              ///< of these, until something as safe was in use
};

struct DangerousEvent {
    Duration at{};
    std::optional<std::size_t> injection;
    std::string why;
};

/// What an end showed at the end of the run, for runs whose link never started.
struct EndShown {
    proto::State state = proto::State::start_up;
    proto::Refusal refusal = proto::Refusal::none;
    proto::Counters counters;
};

/// How a safeguard stood at the end of the run.
enum class SafeguardState : std::uint8_t { free, demanded, latched, discrepancy };
std::string_view name_of(SafeguardState state);
struct SafeguardShown {
    SafeguardState state = SafeguardState::free;
    std::uint64_t discrepancies = 0;  ///< times that its channels differed for too long
};

struct TwinResult {
    std::uint64_t spurious_trips = 0;
    std::uint64_t cycles = 0;
    bool recovered = true;     ///< after every stop of the faulty run the link came back once acknowledged, and the
                               ///< machine stood still until started
    std::string why_not = {};  ///< if not recovered: what was seen instead
};

/// How late the timers of a live run were, per scan.
struct Lateness {
    std::vector<std::int64_t> sorted_ns;
    /// The share `q` (0..1) of scans was not later; zero if there were none.
    [[nodiscard]] Duration at(double q) const {
        if (sorted_ns.empty()) return {};
        const auto last = static_cast<double>(sorted_ns.size() - 1);
        return {sorted_ns[static_cast<std::size_t>(std::floor(q * last + 0.5))]};
    }
};

/// Of a live run: an exchange from a telegram's making to the acceptance of its answer, in two parts.
struct LiveRoundTrip {
    Duration line;       ///< what its telegrams were on their way, out and back
    Duration scan_wait;  ///< the rest: they waited for scans, or for being said again
};

/// Of a live run: what the network did between two parts, in one direction, while both were there.
struct NetworkLeg {
    Direction way = Direction::to_device;
    bool beyond_channel = false;  ///< from the channel to the end, else from the end to the channel
    std::uint64_t sent = 0;       ///< datagrams with telegrams, repeats among them
    std::uint64_t lost = 0;
    std::uint64_t doubled = 0;   ///< arrived more often than they were sent
    std::uint64_t overtook = 0;  ///< arrived before one that was sent earlier
    std::uint64_t strange = 0;   ///< arrived with bytes that nobody sent: altered on the way
};

struct RunResult {
    std::string scenario_title, scenario_file, plant;
    std::uint64_t seed = 0;
    RunVerdict verdict = RunVerdict::pass;
    bool as_expected = true;   ///< verdict and every injection as the scenario expects
    std::uint64_t digest = 0;  ///< of the whole trace
    std::uint64_t cycles = 0;  ///< controller scans
    std::uint64_t exchanges = 0;
    std::uint64_t spurious_trips = 0;
    std::uint64_t stops = 0;             ///< times the link left running
    std::uint64_t acknowledgements = 0;  ///< that counted
    bool link_started = false;
    bool machine_started = false;  ///< somebody started it, at least once
    TwinResult twin;
    std::vector<InjectionResult> injections;  ///< in the order of the scenario's faults
    std::vector<DemandResult> demands;        ///< in the order of their contacts
    std::vector<ValueResult> values;          ///< in the order of the scenario
    std::vector<FunctionRow> function_rows;   ///< in the order of the demands
    std::vector<FunctionResult> functions;    ///< in the order of the scenario
    std::vector<DangerousEvent> dangerous;    ///< first ones, at most 100
    std::optional<Duration> bound;            ///< response of the link chain, sampling to output command
    std::optional<Duration> worst_seen;       ///< the largest seen in this run
    std::optional<Duration> required;
    std::optional<Duration> stopping;         ///< drive delay and stopping time from full speed, the slowest reaction
    std::optional<std::int64_t> stopping_um;  ///< the way in that time, of the reaction with the longest
    EndShown controller, device;
    std::vector<SafeguardShown> safeguards;  ///< in the order of the scenario; not of a live run
    bool live = false;
    std::int64_t time_scale = 1;             ///< every duration of the scenario was multiplied by it
    Lateness lateness;                       ///< live only
    Duration lateness_allowed{};             ///< live only: later than this, the run is not judged
    std::vector<LiveRoundTrip> round_trips;  ///< live and polled, in order
    std::vector<NetworkLeg> network;         ///< live: both ways, before and beyond the channel
    std::vector<PartAway> away;              ///< live: parts that were not there all the time
    std::vector<std::string> remarks;        ///< sentences for people: what a reader must know
};

}  // namespace sim
