// What `watchdog` found, for programs.
#include <optional>
#include <utility>
#include <vector>

#include "sim/scenario/scenario.hpp"
#include "sim/timing/bounds.hpp"
#include "sim/timing/function_time.hpp"
#include "tools/watchdog/watchdog_page.hpp"

namespace tools {
namespace {

using sim::WatchdogPoint;

Value mm_of(const std::optional<sim::Length>& length) {
    constexpr double pm_per_mm = 1e9;
    return length ? Value(static_cast<double>(length->pm) / pm_per_mm) : Value();
}

Value describe_measured(const std::optional<sim::MeasuredShare>& measured) {
    if (!measured) return {};
    return Value::Object{
        {"samples", measured->samples}, {"longer", measured->longer}, {"low", measured->low}, {"high", measured->high}};
}

Value describe_model(const sim::TripOdds& its) {
    return Value::Object{{"trips_per_year", its.claimed ? Value(its.per_year) : Value()},
                         {"low", its.low},
                         {"high", Value::of(its.high)},
                         {"method", its.method}};
}

/// By the model that draws each time alone, and by the one that keeps neighbours together, where there are both.
Value describe_models(const sim::TripOdds& odds) {
    if (!odds.in_blocks) return {};
    return Value::Object{{"alone", describe_model(odds)}, {"in_blocks", describe_model(*odds.in_blocks)}};
}

Value describe_neighbours(const WatchdogFindings& found) {
    const sim::Neighbours& neighbours = found.neighbours;
    Value::List ways;
    for (std::size_t i = 0; i < neighbours.ways.size(); ++i) {
        if (!neighbours.ways[i]) continue;
        const sim::Dependence& its = *neighbours.ways[i];
        ways.push_back(Value::Object{{"way", i == 0 ? "to-device" : "to-controller"},
                                     {"samples", its.count},
                                     {"dependent", its.verdict == sim::DependenceVerdict::too_few
                                                       ? Value()
                                                       : Value(its.verdict == sim::DependenceVerdict::dependent)},
                                     {"runs", its.runs.runs},
                                     {"runs_expected", its.runs.expected},
                                     {"runs_p", its.runs.p},
                                     {"correlation_p", its.correlations.p},
                                     {"block_telegrams", neighbours.blocks[i]}});
    }
    if (ways.empty()) return {};
    return Value::Object{{"ways", std::move(ways)},
                         {"from_alone_ms", Value::of(found.window.lowest_alone)},
                         {"from_in_blocks_ms", Value::of(found.window.lowest_in_blocks)}};
}

Value describe_point(const WatchdogPoint& point) {
    constexpr double um_per_mm = 1e3;
    const sim::TripOdds& odds = point.odds.worse();
    return Value::Object{
        {"watchdog_ms", point.watchdog},
        {"trips_per_year", odds.claimed ? Value(odds.per_year) : Value()},
        {"trips_per_hour", odds.claimed ? Value(odds.per_hour()) : Value()},
        {"low", odds.low},
        {"high", Value::of(odds.high)},
        {"method", odds.method},
        {"main_cause", odds.main_cause ? Value(sim::name_of(*odds.main_cause)) : Value()},
        {"response_ms", Value::of(point.response)},
        {"overall_ms", Value::of(point.overall)},
        {"needed_mm", mm_of(point.needed)},
        {"spare_mm", point.spare_um ? Value(static_cast<double>(*point.spare_um) / um_per_mm) : Value()},
        {"usable", point.usable() ? Value(*point.usable()) : Value()},
        {"why", Value::text_or_null(point.why)},
        {"measured", describe_measured(point.odds.measured)},
        {"models", describe_models(point.odds)},
    };
}

}  // namespace

Value describe(const sim::Scenario& scenario, const WatchdogFindings& found) {
    Value::List points, openers;
    for (const WatchdogPoint& point : found.points) points.push_back(describe_point(point));
    for (const sim::Opener& opener : found.window.openers)
        openers.push_back(Value::Object{{"change", opener.change}, {"value", opener.value}});
    Value window;
    if (found.window.open())
        window = Value::Object{{"from_ms", Value::of(found.window.lowest)},
                               {"to_ms", Value::of(found.window.highest)},
                               {"suggested_ms", Value::of(found.window.suggested)}};
    const sim::TripOdds& as_typed = found.as_typed.worse();
    const bool polled = scenario.controller.link.exchange == proto::Exchange::polled;
    Value::Object document{
        {"scenario", scenario.file},
        {"seed", found.seed},
        {"limit_per_year", found.window.limit_per_year},
        {"now_set_ms", Value::Object{{"controller_ms", scenario.controller.link.watchdog},
                                     {"device_ms", scenario.device.link.watchdog}}},
        {"longest_round_trip_ms",
         polled ? Value(sim::longest_round_trip(scenario.controller.link.watchdog, scenario.controller.link.cycle))
                : Value()},
        {"round_trip_over_it", found.round_trip_over ? Value(Value::Object{{"low", found.round_trip_over->low},
                                                                           {"high", found.round_trip_over->high}})
                                                     : Value()},
        {"as_typed", Value::Object{{"trips_per_year", as_typed.claimed ? Value(as_typed.per_year) : Value()},
                                   {"low", as_typed.low},
                                   {"high", Value::of(as_typed.high)},
                                   {"method", as_typed.method},
                                   {"models", describe_models(found.as_typed)}}},
        {"settled", found.as_typed.settled},
        {"neighbours", describe_neighbours(found)},
        {"points", std::move(points)},
        {"window", std::move(window)},
        {"openers", std::move(openers)},
        {"why", found.window.why},
        {"ideal_channel", found.window.ideal_channel},
        {"cannot_be_told", found.window.cannot_be_told},
        {"cautions", Value::list_of(found.cautions)},
    };
    const std::vector<sim::FunctionTime> times = sim::function_times(scenario);
    if (const sim::FunctionTime* decides = sim::tightest(times))
        document.push_back({"function", Value::Object{{"name", scenario.functions[decides->function].name},
                                                      {"safeguard", decides->safeguard},
                                                      {"limit_ms", Value::of(decides->limit())}}});
    return document;
}

}  // namespace tools
