#include "tools/run/describe_run.hpp"

#include <algorithm>

#include "sim/scenario/reach.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "tools/run/describe_guards.hpp"
#include "tools/run/describe_live.hpp"
#include "tools/run/describe_values.hpp"
#include "tools/run/run_page_parts.hpp"
#include "tools/text/apart.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

std::string_view name_of_end(proto::End end) { return end == proto::End::controller ? "controller" : "device"; }

template <class Enumeration>
Value name_or_null(const std::optional<Enumeration>& value) {
    return value ? Value(name_of(*value)) : Value();
}

Value in_mm(const std::optional<std::int64_t>& um) { return um ? Value(static_cast<double>(*um) / 1000.0) : Value(); }

Value direction_of(const sim::InjectionResult& injection) {
    if (injection.at_end) return {};
    if (injection.both_ways) return "both";
    return name_of_way(injection.direction);
}

Value::List names_of(proto::MeasureSet set) {
    Value::List names;
    for (unsigned i = 0; i < proto::measure_count; ++i)
        if (const auto measure = static_cast<proto::Measure>(i); set.has(measure)) names.emplace_back(name_of(measure));
    return names;
}

Value describe_end(const sim::EndShown& end, const std::string& name) {
    Value::Object rejected;
    for (unsigned i = 0; i < proto::measure_count; ++i)
        rejected.push_back({std::string(name_of(static_cast<proto::Measure>(i))), end.counters.rejected[i]});
    return Value::Object{
        {"name", name},
        {"state", name_of(end.state)},
        {"refusal", end.refusal == proto::Refusal::none ? Value() : Value(name_of(end.refusal))},
        {"received", end.counters.received},
        {"accepted", end.counters.accepted},
        {"repeats", end.counters.repeats},
        {"ignored", end.counters.ignored},
        {"rejected", std::move(rejected)},
        {"sent", end.counters.sent},
        {"queue_full", end.counters.queue_full},
    };
}

Value describe_machine(const sim::Scenario& scenario) {
    if (!scenario.machine) return {};
    const std::int64_t reduced = scenario.machine->reduced_speed_um_s;
    return Value::Object{{"name", scenario.machine->name},
                         {"mm_per_s", in_mm(scenario.machine->speed_um_s)},
                         {"reduced_mm_per_s", reduced > 0 ? in_mm(reduced) : Value()}};
}

}  // namespace

Value describe_injection(const sim::Scenario& scenario, const sim::InjectionResult& injection) {
    const sim::Fault* fault = injection.fault < scenario.faults.size() ? &scenario.faults[injection.fault] : nullptr;
    const bool fired = struck(injection);
    return Value::Object{
        {"id", std::uint64_t{injection.fault} + 1},
        {"fault", fault ? Value(name_of(fault->way)) : Value()},
        {"error", injection.error == sim::ErrorKind::none ? Value() : Value(name_of(injection.error))},
        {"direction", direction_of(injection)},
        {"at_end", injection.at_end ? Value(name_of_end(*injection.at_end)) : Value()},
        {"at_ms", fired ? Value(injection.at) : Value()},
        {"telegrams", injection.telegrams},
        {"outcome", name_of(injection.outcome)},
        {"latent", injection.latent},
        {"detected_by", name_or_null(injection.detected_by)},
        {"also_by", names_of(injection.also_by)},
        {"owing_to", name_or_null(injection.owing_to)},
        {"detected_end", injection.detected_end ? Value(name_of_end(*injection.detected_end)) : Value()},
        {"detect_ms", Value::of(injection.detect)},
        {"safe_state_ms", Value::Object{{"controller", Value::of(injection.safe_state_controller)},
                                        {"device", Value::of(injection.safe_state_device)}}},
        {"reduced_ms", Value::of(injection.reduced)},
        {"standstill_ms", Value::of(injection.standstill)},
        {"travelled_mm", in_mm(injection.travelled_um)},
        {"stopping_mm", in_mm(injection.stopping_um)},
        {"allowed_ms", Value::of(injection.allowed)},
        {"within_limit", injection.within_limit},
        {"expected", Value::text_or_null(injection.expected)},
        {"as_expected", injection.as_expected},
        {"why", Value::text_or_null(injection.why)},
        {"words", fault ? Value(words_of(*fault, scenario)) : Value()},
    };
}

Value describe(const sim::Scenario& scenario, const sim::RunResult& result) {
    Value::List injections;
    for (const sim::InjectionResult& injection : result.injections)
        injections.push_back(describe_injection(scenario, injection));
    Value::List dangerous;
    for (const sim::DangerousEvent& event : result.dangerous) {
        dangerous.push_back(
            Value::Object{{"at_ms", event.at},
                          {"injection", event.injection ? Value(std::uint64_t{*event.injection} + 1) : Value()},
                          {"why", event.why}});
    }
    Value::List safeguards;
    for (std::size_t i = 0; i < std::min(result.safeguards.size(), scenario.safeguards.size()); ++i) {
        safeguards.push_back(Value::Object{{"name", scenario.safeguards[i].name},
                                           {"state", name_of(result.safeguards[i].state)},
                                           {"discrepancies", result.safeguards[i].discrepancies}});
    }
    const EndNames names = full_names(scenario);
    Value::Object document{
        {"scenario", result.scenario_file},
        {"title", result.scenario_title},
        {"plant", result.plant},
        {"version", LINKDRILL_VERSION},
        {"mode", result.live ? "live" : "virtual"},
        {"seed", result.seed},
        {"verdict", name_of(result.verdict)},
        {"as_expected", result.as_expected},
        {"digest", sim::written_hex(result.digest, 16)},
        {"cycles", result.cycles},
        {"exchanges", result.exchanges},
        {"spurious_trips", result.spurious_trips},
        {"stops", result.stops},
        {"acknowledgements", result.acknowledgements},
        {"link_started", result.link_started},
        {"twin", Value::Object{{"spurious_trips", result.twin.spurious_trips},
                               {"recovered", result.twin.recovered},
                               {"why_not_recovered", result.twin.recovered ? Value() : Value(result.twin.why_not)},
                               {"cycles", result.twin.cycles}}},
        {"time_scale", static_cast<std::uint64_t>(result.time_scale)},
        {"injections", std::move(injections)},
        {"response", Value::Object{{"bound_ms", Value::of(result.bound)},
                                   {"worst_seen_ms", Value::of(result.worst_seen)},
                                   {"required_ms", Value::of(result.required)},
                                   {"stopping_ms", Value::of(result.stopping)},
                                   {"stopping_mm", in_mm(result.stopping_um)}}},
        {"machine", describe_machine(scenario)},
        {"machine_started", result.machine_started},
        {"demands", describe_demands(scenario, result)},
        {"functions", describe_functions(scenario, result)},
        {"safeguards", std::move(safeguards)},
        {"dangerous", std::move(dangerous)},
        {"ends", Value::Object{{"controller", describe_end(result.controller, names.controller)},
                               {"device", describe_end(result.device, names.device)}}},
        {"lateness_ms", result.live ? describe_lateness(result.lateness, result.lateness_allowed) : Value()},
        {"remarks", Value::list_of(result.remarks)},
    };
    if (const auto apart = sim::kept_apart(scenario)) document.push_back({"kept_apart", describe(*apart)});
    if (!result.values.empty()) document.push_back({"values", describe_values(scenario, result)});
    if (result.live) {
        document.push_back({"network", describe_network(result)});
        document.push_back({"away", describe_away(result)});
    }
    return document;
}

}  // namespace tools
