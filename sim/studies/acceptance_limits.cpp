#include "sim/studies/acceptance_limits.hpp"

#include <algorithm>
#include <utility>

#include "sim/plant/machine.hpp"
#include "sim/plant/reached.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/studies/acceptance_stage.hpp"
#include "sim/timing/bounds.hpp"
#include "sim/timing/from_reduced.hpp"
#include "sim/timing/function_time.hpp"
#include "sim/timing/response.hpp"

namespace sim {
namespace {

using Kind = AcceptanceAct::Kind;

std::size_t index(End end) { return static_cast<std::size_t>(end) & 1; }
Direction toward(End end) { return end == End::device ? Direction::to_device : Direction::to_controller; }

Duration longest_delay(const Scenario& s, End to) {
    return longest_of(toward(to) == Direction::to_device ? s.to_device.delay : s.to_controller.delay);
}

/// Also in a stream no telegram that an end has accepted is older than that when the next one fails to come.
Duration longest_exchange(const Scenario& s) {
    return longest_delay(s, End::device) + longest_delay(s, End::controller) + s.controller.link.scan +
           s.device.link.scan;
}

CablePulled pulled(const Scenario& s, End end) {
    const proto::LinkSettings& link = s.end(end).link;
    return cable_pulled_bounds({link.watchdog, link.scan, {}}, longest_delay(s, end), longest_exchange(s));
}

Scenario with_demand(const Scenario& scenario, const std::string& safeguard) {
    Scenario s = scenario;
    s.distance.reset();
    s.demands = {Demand{.safeguard = safeguard, .at = {}, .lasting = {}, .where = {}}};
    return s;
}

std::string in_sum(const Scenario& s, End end) {
    const proto::LinkSettings& link = s.end(end).link;
    return written(longest_delay(s, end)) + " longest delay + 2 * " + written(link.scan) + " scan + " +
           written(link.watchdog) + " watchdog of " + s.end(end).name;
}

/// Which reaction of the function that the act is about it asks of the machine.
std::optional<std::size_t> must_of(const Scenario& s, const AcceptanceAct& act) {
    if (!act.function || *act.function >= s.functions.size() || !s.machine) return std::nullopt;
    const std::vector<MustReact>& must = s.functions[*act.function].must;
    for (std::size_t i = 0; i < must.size(); ++i)
        if (must[i].machine == s.machine->name) return i;
    return std::nullopt;
}

/// Of the failing link: its reaction, but a stop where no reduced speed ends the hazard.
StopCategory asked_of_failure(const Scenario& s) {
    const StopCategory does = reached_by_failing(s).value_or(StopCategory::category_0);
    return does == StopCategory::reduced_speed && !reduced_speed_counts(s) ? StopCategory::category_0 : does;
}

/// By the machine's figures, from the output command at full speed; nothing where they say nothing of such a stop.
std::optional<Duration> by_figures(const Machine& machine, StopCategory stop, std::int64_t slow_um_s) {
    const std::int64_t slope = stop == StopCategory::category_0 ? machine.braking_um_s2 : machine.ramp_um_s2;
    if (slope == 0) return std::nullopt;
    if (slow_um_s == 0 || stop == StopCategory::reduced_speed) return MachineModel::stopping_time(machine, stop);
    MachineModel model(machine);
    model.start({});
    model.command(command_of(stop), {});
    return model.reduced_at() - Instant{};
}

/// With its demand, or with a failing link alone.
ResponseTime response_to(const Scenario& s, const AcceptanceAct& act) {
    return is_demand(act) ? response_of(with_demand(s, act.safeguard)) : response_of(s);
}

/// From the output command, by the guard's own reaction or by that of a failing link, whichever takes longer.
std::optional<Duration> longest_by_figures(const Scenario& s, const Machine& machine, const AskedOfMachine& asked,
                                           std::int64_t slow_um_s) {
    std::optional<Duration> longest = by_figures(machine, asked.stop, slow_um_s);
    if (const auto failing = reached_by_failing(s); longest && failing && more_severe(*failing, asked.stop))
        if (const auto other = by_figures(machine, *failing, slow_um_s)) longest = std::max(*longest, *other);
    return longest;
}

/// From the output command to what is asked, and to standstill where that comes later.
struct StopReckoned {
    std::optional<Duration> asked, stands;
    std::string words;
};
StopReckoned stop_of(const Scenario& s, const AcceptanceAct& act, const AskedOfMachine& asked,
                     const ResponseTime& response) {
    StopReckoned found;
    if (without_power(s, act)) {
        found.asked = by_figures(*s.machine, StopCategory::category_0, 0);
        found.words = found.asked ? " + " + written(*found.asked) + " stop without power"
                                  : "; nothing in the scenario says how the machine stops without power";
        return found;
    }
    const ReckonedMachine reckoned = machine_reckoned_with(s, act, asked);
    const std::optional<Duration> stands =
        response.stopping ? response.stopping : longest_by_figures(s, reckoned.machine, asked, 0);
    if (asked.slow_um_s == 0) {
        found.asked = stands;
        found.words = stands ? " + " + written(*stands) + " stop" : "";
    } else {
        found.asked = longest_by_figures(s, reckoned.machine, asked, asked.slow_um_s);
        if (!asked.runs_on()) found.stands = stands;
        found.words = found.asked ? " + " + written(*found.asked) + " until it is slow" : "";
    }
    if (!found.asked)
        found.words = "; the machine's stop may not be counted";
    else if (reckoned.measured)
        found.words += ", as measured";
    else if (asked.slow_um_s != 0 || !response.stopping)
        found.words += ", by the machine's figures";
    return found;
}

/// By [required] and [distance] alone, as for a function that states no limit of its own.
FunctionTime time_of_no_function(const Scenario& s, const std::string& safeguard) {
    Scenario alone = s;
    SafetyFunction none;
    none.safeguards = {safeguard};
    none.must.emplace_back();
    alone.functions = {std::move(none)};
    return time_of(alone, 0, 0, safeguard);
}

/// A limit from the demand on that somebody stated, and where it is from.
struct Stated {
    Duration at_most;
    std::string words;
};
/// `within` counts from full speed always, a distance that counts from reduced speed says nothing of full speed.
std::optional<Stated> stated_by(const Scenario& s, std::size_t function, std::size_t must, const AcceptanceAct& act) {
    using Binds = FunctionTime::Binds;
    FunctionTime time = time_of(s, function, must, act.safeguard);
    const FromReduced& from = time.from_reduced;
    if (from.counts()) {
        const bool slow = act.speed == AcceptanceAct::Speed::reduced;
        const bool by_distance = slow && time.by_distance && (!time.within || *time.by_distance < *time.within);
        time.binds = by_distance ? Binds::distance : time.within ? Binds::within : Binds::nothing;
    }
    if (!time.limit()) return std::nullopt;
    return Stated{*time.limit(), "function " + std::to_string(act.function_of_cell.value_or(function) + 1) + ": " +
                                     limit_in_words(time) + (from.asked ? "; its distance " + in_words(from) : "")};
}

std::optional<Stated> stated_limit(const Scenario& s, const AcceptanceAct& act) {
    if (s.place_of(act.safeguard) == s.safeguards.size()) return std::nullopt;
    const std::optional<std::size_t> must = must_of(s, act);
    if (!must) {
        const FunctionTime time = time_of_no_function(s, act.safeguard);
        return time.limit() ? std::optional(Stated{*time.limit(), limit_in_words(time)}) : std::nullopt;
    }
    // at reduced speed that hazard has ended before the act
    const SafetyFunction& function = s.functions[*act.function];
    if (act.speed == AcceptanceAct::Speed::reduced && reduced_speed_counts(s, function)) return std::nullopt;
    return stated_by(s, *act.function, *must, act);
}

void limits_of_demand(const Scenario& s, const AcceptanceAct& act, ActLimits& found) {
    for (const OutsidePart& part : s.outside_parts)
        if (is_on_way_of(part, act.safeguard)) found.outside = found.outside + std::max(part.delay, part.with_fault);
    ResponseTime response = response_to(s, act);
    if (const auto must = must_of(s, act); must && act.speed == AcceptanceAct::Speed::reduced) {
        const SafetyFunction& function = s.functions[*act.function];
        const FromReduced from = from_reduced(s, function, function.must[*must], act.safeguard);
        if (from.counts()) response.stopping = from.stopping;
    }
    std::string settings;
    if (!response.response) {
        settings = "the link has no bound for this demand";
    } else {
        settings = "response " + written(*response.response) + ", one fault in the link reckoned with";
        found.by_settings = response.response;
        if (const auto asked = asked_of_machine(s, act)) {
            const StopReckoned stop = stop_of(s, act, *asked, response);
            settings += stop.words;
            found.by_settings = stop.asked ? std::optional(*response.response + *stop.asked) : std::nullopt;
            if (stop.stands) found.stands_at_most = *response.response + *stop.stands;
        }
    }
    found.machine_at_most = found.by_settings;
    found.reckoned = settings;
    const std::optional<Stated> stated = stated_limit(s, act);
    if (!stated) return;
    // who states a function says what may be used up; without one the settings bind too
    if (!must_of(s, act) && found.by_settings && *found.by_settings <= stated->at_most) return;
    found.machine_at_most = stated->at_most;
    found.reckoned = stated->words + "; by the settings " +
                     (found.by_settings ? "at most " + written(*found.by_settings) + ": " : "no limit: ") + settings;
}

/// Of two guards at once the other one must act in its own time too, where it asks for the same of the machine.
void take_that_of_other(const Scenario& s, const AcceptanceAct& act, ActLimits& found) {
    const std::optional<AskedOfMachine> asked = asked_of_machine(s, act);
    AcceptanceAct other = act;
    other.safeguard = std::exchange(other.together_with, {});
    std::vector<std::optional<std::size_t>> functions;
    for (std::size_t f = 0; f < s.functions.size(); ++f)
        if (names(s.functions[f], other.safeguard)) functions.emplace_back(f);
    if (functions.empty()) functions.emplace_back(std::nullopt);
    for (const std::optional<std::size_t>& function : functions) {
        other.function = function;
        other.function_of_cell.reset();
        const std::optional<AskedOfMachine> alone = asked_of_machine(s, other);
        if (!asked || !alone || alone->stop != asked->stop || alone->slow_um_s != asked->slow_um_s) continue;
        const ActLimits limits = limits_of_act(s, other);
        if (!limits.machine_at_most || (found.machine_at_most && *found.machine_at_most <= *limits.machine_at_most))
            continue;
        found.machine_at_most = limits.machine_at_most;
        found.by_settings = limits.by_settings;
        found.reckoned = other.safeguard + " alone: " + limits.reckoned;
    }
}

}  // namespace

bool more_severe(StopCategory a, StopCategory b) { return command_of(a) > command_of(b); }

std::optional<StopCategory> reached_by_name(const Scenario& s, const std::string& safeguard) {
    const std::size_t guard = s.place_of(safeguard);
    if (guard == s.safeguards.size()) return std::nullopt;
    const auto reached = reached_by(s, guard);
    return reached ? std::optional(reached->stop) : std::nullopt;
}

std::optional<StopCategory> reached_by_failing(const Scenario& s) {
    const auto reached = reached_by_failure(s);
    return reached ? std::optional(reached->stop) : std::nullopt;
}

bool without_power(const Scenario& s, const AcceptanceAct& act) {
    return act.kind == Kind::power_off && act.end == output_of(s);
}

ReckonedMachine machine_reckoned_with(const Scenario& s, const AcceptanceAct& act, const AskedOfMachine& asked) {
    ReckonedMachine reckoned{*s.machine, std::nullopt};
    // what was measured is the way from full speed to standstill
    if (s.stopping.measured.empty() || asked.runs_on() || without_power(s, act)) return reckoned;
    const std::optional<Duration> figures = by_figures(*s.machine, asked.stop, 0);
    const Duration measured = stopping_time_of_measurements(s.stopping.measured);
    const bool counts = response_to(s, act).stopping == measured;
    if (!figures || (measured <= *figures && !counts)) return reckoned;
    reckoned.machine = stopping_in(*s.machine, asked.stop, measured);
    if (MachineModel::stopping_time(reckoned.machine, asked.stop) != *figures) reckoned.measured = measured;
    return reckoned;
}

std::optional<AskedOfMachine> asked_of_machine(const Scenario& s, const AcceptanceAct& act) {
    if (!s.machine) return std::nullopt;
    if (without_power(s, act)) return AskedOfMachine{};
    AskedOfMachine asked{.stop = asked_of_failure(s)};
    if (!is_demand(act)) {
        if (asked.runs_on()) asked.slow_um_s = s.machine->reduced_speed_um_s;
        return asked;
    }
    const std::optional<std::size_t> must = must_of(s, act);
    StopCategory stop =
        must ? s.functions[*act.function].must[*must].must : reached_by_name(s, act.safeguard).value_or(asked.stop);
    const bool to_slow =
        stop == StopCategory::reduced_speed || (must && reduced_speed_counts(s, s.functions[*act.function]));
    if (!act.together_with.empty())
        if (const auto other = reached_by_name(s, act.together_with); other && more_severe(*other, stop)) stop = *other;
    // a cut link fails besides: the more severe one acts
    if (act.kind == Kind::demand || more_severe(stop, asked.stop)) asked.stop = stop;
    const bool fast = act.speed == AcceptanceAct::Speed::full;
    if (to_slow && fast) asked.slow_um_s = s.machine->reduced_speed_um_s;
    return asked;
}

ActLimits limits_of_act(const Scenario& scenario, const AcceptanceAct& act) {
    ActLimits found;
    if (is_demand(act)) {
        limits_of_demand(scenario, act, found);
        if (!act.together_with.empty()) take_that_of_other(scenario, act, found);
        return found;
    }
    const End output = output_of(scenario);
    Duration link = pulled(scenario, output).at_most;
    found.reckoned = in_sum(scenario, output);
    for (const End end : {End::controller, End::device}) found.end_at_most[index(end)] = pulled(scenario, end).at_most;
    if (act.kind == Kind::power_off) {
        found.end_at_most[index(act.end)] = Duration{};
        if (act.end == output) {
            link = {};
            found.reckoned = "the outputs go off with the power";
        }
    } else {
        found.link_at_least = pulled(scenario, output).at_least;
    }
    found.machine_at_most = link;
    if (const auto asked = asked_of_machine(scenario, act)) {
        const StopReckoned stop = stop_of(scenario, act, *asked, response_of(scenario));
        found.reckoned += stop.words;
        found.machine_at_most = stop.asked ? std::optional(link + *stop.asked) : std::nullopt;
    }
    return found;
}

}  // namespace sim
