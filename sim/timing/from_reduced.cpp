#include "sim/timing/from_reduced.hpp"

#include <algorithm>
#include <utility>

#include "sim/plant/machine.hpp"
#include "sim/plant/reached.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/timing/response.hpp"

namespace sim {
namespace {

/// A distance of one of several safeguards says nothing of the others.
bool has_distance_of(const SafetyFunction& function, const std::string& safeguard) {
    return function.distance && (function.distance->safeguard.empty() || function.distance->safeguard == safeguard);
}

const SafetyFunction* function_called(const Scenario& scenario, const std::string& name) {
    for (const SafetyFunction& function : scenario.functions)
        if (function.name == name) return &function;
    return nullptr;
}

/// It sees somebody as long as he stands there, so that he cannot stand behind it.
bool senses_presence(const Scenario& scenario, const SafetyFunction& function, const std::string& safeguard) {
    const std::optional<GuardKind>& kind = scenario.safeguards[scenario.place_of(safeguard)].kind;
    if (kind) return *kind == GuardKind::mat || *kind == GuardKind::field;
    const std::optional<GuardDistance> guard = distance_of_guard(scenario, function, safeguard);
    return guard && (guard->how.approach == Approach::mat || guard->how.approach == Approach::parallel);
}

bool may_be_muted(const Scenario& scenario, const std::string& safeguard) {
    const std::vector<std::size_t> falling = falling_with(scenario, scenario.place_of(safeguard));
    return std::any_of(falling.begin(), falling.end(),
                       [&](std::size_t signal) { return scenario.signals[signal].muted_by.has_value(); });
}

/// What the outer function is not; empty if it slows that machine down whenever this one is asked.
std::string wrong_with(const Scenario& scenario, const SafetyFunction& function, const MustReact& must,
                       const SafetyFunction& outer) {
    if (must.must == StopCategory::reduced_speed) return "it asks for no more than a reduced speed itself";
    if (reduced_speed_counts(scenario, function)) return "at reduced speed its hazard has ended already";
    const auto slows = [&](const MustReact& one) {
        return one.machine == must.machine && one.must == StopCategory::reduced_speed;
    };
    if (std::none_of(outer.must.begin(), outer.must.end(), slows))
        return "that function does not ask for a reduced speed of " + must.machine;
    if (!scenario.machine->reduced_speed_monitor) return "nothing monitors the reduced speed of " + must.machine;
    if (!reduced_speed_counts(scenario, outer)) return "that function does not say hazard_ends = \"reduced-speed\"";
    const std::vector<std::size_t> modes = modes_of(scenario, outer);
    for (const std::size_t mode : modes_of(scenario, function))
        if (std::find(modes.begin(), modes.end(), mode) == modes.end())
            return "that function is not asked in the mode " + scenario.modes[mode].name;
    for (const std::string& guard : outer.safeguards) {
        if (may_be_muted(scenario, guard)) return guard + " may be muted";
        if (outer.returns == Returns::by_itself && !senses_presence(scenario, outer, guard))
            return "the full speed returns by itself when " + guard +
                   " is free again, and nothing says that it senses presence all the time (kind = \"field\" or "
                   "\"mat\")";
    }
    if (!scenario.stopping.measured.empty()) return "the stop was measured from full speed only";
    return {};
}

/// From the output command to reduced speed where the drive does not slow down and its monitor has to stop it.
Duration slowed_by_monitor(const Machine& machine) {
    MachineModel model(machine);
    model.start({});
    model.let_slow(false);
    model.command(DriveCommand::reduce, {});
    const Instant reduced = model.reduced_at();
    return reduced == proto::never ? Duration{} : reduced - Instant{};
}

/// The worst time of one guard of the outer function, its way and what that way must be; why not, if it is too short.
std::string add_outer_guard(const Scenario& scenario, const SafetyFunction& outer, const std::string& guard,
                            Length there, FromReduced& from) {
    const ResponseTime response = response_of(scenario, guard);
    if (response.safeguard.empty()) return guard + " reaches no reaction of the machine";
    if (!response.overall) return "there is no bound to how soon " + guard + " leads to the reduced speed";
    const Duration slowed = std::max(*response.overall, *response.response + slowed_by_monitor(*scenario.machine));
    const std::optional<GuardDistance> distance = distance_of_guard(scenario, outer, guard);
    if (!distance || !distance->there_um)
        return "nothing says how far away " + guard + " is (there in the distance of that function)";
    if (slowed > overall_most) return guard + " leads to the reduced speed after more than an hour";
    const Length way = micrometres(*distance->there_um) - there;
    const Length needed = needed_length(distance->how, slowed);
    const bool worse = !from.way || way - needed < *from.way - *from.way_needed;
    if (!worse) return {};
    from.slowed = slowed;
    from.way = way;
    from.way_needed = needed;
    if (way >= needed) return {};
    return guard + " is " + written(way) + " farther away, and until the reduced speed, " + written(slowed) +
           " at worst, " + std::to_string(whole_mm_up(needed)) + " mm are needed";
}

std::string why_not(const Scenario& scenario, const SafetyFunction& function, const MustReact& must,
                    const std::string& safeguard, FromReduced& from) {
    const SafetyFunction* outer = function_called(scenario, function.slowed_by);
    if (outer == nullptr || outer == &function) return "there is no such function";
    const std::optional<GuardDistance> own = distance_of_guard(scenario, function, safeguard);
    if (!own || !own->there_um) return "nothing says how far away " + safeguard + " is (there)";
    if (std::string wrong = wrong_with(scenario, function, must, *outer); !wrong.empty()) return wrong;
    for (const std::string& guard : outer->safeguards)
        if (std::string wrong = add_outer_guard(scenario, *outer, guard, micrometres(*own->there_um), from);
            !wrong.empty())
            return wrong;
    return {};
}

}  // namespace

std::optional<GuardDistance> distance_of_guard(const Scenario& scenario, const SafetyFunction& function,
                                               const std::string& safeguard) {
    if (has_distance_of(function, safeguard)) return function.distance;
    if (scenario.distance && scenario.distance->safeguard == safeguard) return scenario.distance;
    return std::nullopt;
}

FromReduced from_reduced(const Scenario& scenario, const SafetyFunction& function, const MustReact& must,
                         const std::string& safeguard) {
    FromReduced from;
    if (function.slowed_by.empty() || !has_distance_of(function, safeguard) || !scenario.machine) return from;
    from.asked = true;
    from.outer = function.slowed_by;
    const std::optional<SpeedMonitor>& monitor = scenario.machine->reduced_speed_monitor;
    from.um_s = std::min(scenario.machine->speed_um_s,
                         scenario.machine->reduced_speed_um_s + (monitor ? monitor->over_um_s : 0));
    from.why = why_not(scenario, function, must, safeguard, from);
    if (!from.why.empty()) return from;
    StoppingTime stop = stop_for(scenario, safeguard, from.um_s);
    from.stops = std::move(stop.parts);
    from.stopping = stop.time;
    return from;
}

std::string in_words(const FromReduced& from) {
    if (!from.asked) return {};
    const std::string by = "\"" + from.outer + "\"";
    if (!from.counts()) return "counts from full speed, not from reduced speed after " + by + ": " + from.why;
    return "counts from " + written(micrometres(from.um_s)) +
           "/s, the reduced speed and what its monitor lets pass: " + by + " has slowed the machine down within " +
           written(*from.slowed) + ", for which " + std::to_string(whole_mm_up(*from.way_needed)) +
           " mm are needed between both guards, and " + written(*from.way) + " are there";
}

}  // namespace sim
