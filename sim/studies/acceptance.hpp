#pragma once
// The timed acts of an acceptance test on the real machine, reckoned and rehearsed one by one: a guard demanded, a
// cable pulled, an end's power cycled. What is asked and allowed comes from the safety functions where they state it,
// else from wiring and settings; what a rehearsal takes is for information, and whether it passes is told with its
// reason.
#include <array>
#include <cstdint>
#include <optional>
#include <set>
#include <string>

#include "proto/endpoint.hpp"
#include "sim/scenario/ends.hpp"
#include "sim/scenario/plant.hpp"

namespace sim {

struct Scenario;

struct AcceptanceAct {
    enum class Kind : std::uint8_t {
        demand,         ///< on `safeguard`, the link whole
        demand_in_cut,  ///< on `safeguard`, the link cut at that very moment
        cut,            ///< the cable pulled, both ways
        power_off,      ///< of `end`, for a second
    };
    Kind kind = Kind::cut;
    std::string safeguard = {};
    End end = End::device;
    enum class Speed : std::uint8_t { full, reduced } speed = Speed::full;
    std::string together_with = {};  ///< of a demand: a second safeguard at the same moment
    /// Of a demand: whose limits count, index in Scenario::functions; nothing where none names the safeguard.
    std::optional<std::size_t> function = {};
    /// That function's number in words, from 0, where the scenario is a link of a cell, which has others too; else it
    /// is `function`.
    std::optional<std::size_t> function_of_cell = {};
};
/// On one safeguard or two.
bool is_demand(const AcceptanceAct& act);

/// What an act asks of the machine: this reaction and no other.
struct AskedOfMachine {
    StopCategory stop = StopCategory::category_0;
    std::int64_t slow_um_s = 0;  ///< the clock stops once it is at or under this speed; 0: when it stands
    /// It slows down and goes on.
    [[nodiscard]] bool runs_on() const { return stop == StopCategory::reduced_speed; }
    /// The hazard ends while it is slow, and it stands later: two moments.
    [[nodiscard]] bool stands_later() const { return slow_um_s != 0 && !runs_on(); }
};
/// By the function, else by the wiring; where the link fails, its reaction if that is the more severe one. Nothing
/// without a machine.
std::optional<AskedOfMachine> asked_of_machine(const Scenario& scenario, const AcceptanceAct& act);

/// Limits from the act on. What cannot be told is nothing.
struct ActLimits {
    std::optional<Duration> machine_at_most;  ///< until what is asked; without a machine until the output is off
    std::optional<Duration> by_settings;      ///< of a demand: the same by the settings alone
    std::optional<Duration> stands_at_most;   ///< of one that stands later: until then, by the settings
    std::optional<Duration> link_at_least;    ///< of a cut: not before that the output's end can have noticed it
    std::array<std::optional<Duration>, 2> end_at_most{};  ///< of a cut or power cycle, by End: substitute values
    Duration outside{};    ///< of a demand: of that, parts outside the link and its plant, which nobody rehearses
    std::string reckoned;  ///< in words with numbers
};
/// Requires a scenario as the reader gives it. What is stated counts, as FunctionTime::limit() has it for check, run
/// and response; else what the settings promise. Where no function is about the act, the smaller of both.
ActLimits limits_of_act(const Scenario& scenario, const AcceptanceAct& act);

/// What rehearsals of an act showed, with the machine at speed and the act at many places of the exchange.
struct ActSeen {
    unsigned tried = 0;
    unsigned ran = 0;      ///< of them, found both ends running and the machine in motion when the act came
    unsigned stopped = 0;  ///< of them, came to what is asked (without a machine: ended with the output off)
    unsigned stood = 0;    ///< of them, stood at the end although no end had stopped
    std::optional<Duration> shortest, longest;     ///< from the act until then, of those that came to it
    std::optional<Duration> longest_until_stands;  ///< of one that stands later: until then
    std::array<std::set<proto::Cause>, 2> causes;  ///< by End: why it left the running state; empty if it did not
};
/// Deterministic by the plant and the seed. The machine stops by its figures or as it was measured, whichever the
/// limits of the act reckon with, and never faster. Not tried: a reduced speed that the machine does not have, and a
/// machine without power of which nothing says how it stops then.
ActSeen rehearse_act(const Scenario& plant, const AcceptanceAct& act, const AskedOfMachine& asked, std::uint64_t seed);
/// The same, asking what that scenario itself asks.
ActSeen rehearse_act(const Scenario& scenario, const AcceptanceAct& act, std::uint64_t seed);

/// Whether a rehearsal shows what its row asks; nothing where it could not be rehearsed.
struct Passes {
    std::optional<bool> passes;
    std::string why;  ///< why not, or what was seen
};
/// `seen` on that `plant`; asked and limits are those of the sheet.
Passes judge_act(const Scenario& plant, const AcceptanceAct& act, const std::optional<AskedOfMachine>& asked,
                 const ActLimits& limits, const ActSeen& seen);

}  // namespace sim
