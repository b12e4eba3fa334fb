#include "sim/timing/function_time.hpp"

#include <algorithm>
#include <utility>

#include "sim/plant/reached.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"

namespace sim {
namespace {

/// How long everything but the link takes: nothing makes it shorter by a watchdog.
Duration all_but_link(const ResponseTime& response) {
    std::vector<ResponsePart> others;
    for (const ResponsePart& part : response.parts)
        if (part.name != "link") others.push_back(part);
    return added_up(others);
}

/// Requires both limits. Each is held against its own stop, after the same response.
bool within_is_tighter(const FunctionTime& time) {
    if (!time.from_reduced.counts()) return *time.within <= *time.by_distance;
    return *time.within - time.response.stopping.value_or(Duration{}) <=
           *time.by_distance - time.from_reduced.stopping.value_or(Duration{});
}

void add_limits(const Scenario& scenario, const SafetyFunction& function, FunctionTime& time) {
    time.within = function.must[time.must].within;
    time.within_is_own = time.within.has_value();
    if (!time.within) time.within = scenario.required.overall;
    time.guard = distance_of_guard(scenario, function, time.safeguard);
    if (time.guard && time.guard->there_um)
        time.by_distance = longest_overall(time.guard->how, micrometres(*time.guard->there_um));
    time.from_reduced = from_reduced(scenario, function, function.must[time.must], time.safeguard);
    const std::optional<Duration> by_distance = time.overall_by_distance();
    if (time.guard && by_distance && *by_distance <= overall_most)
        time.needed = needed_distance(time.guard->how, *by_distance);
    using Binds = FunctionTime::Binds;
    if (time.within && time.by_distance)
        time.binds = within_is_tighter(time) ? Binds::within : Binds::distance;
    else if (time.within)
        time.binds = Binds::within;
    else if (time.by_distance)
        time.binds = Binds::distance;
}

std::string within_in_words(const FunctionTime& time) {
    return (time.within_is_own ? "within = " : "required.overall = ") + written(*time.within);
}

/// Why it is not kept; empty if it is.
std::string fault_in(const Scenario& scenario, const FunctionTime& time) {
    if (!time.reaches()) return time.safeguard + " reaches no reaction of the machine";
    if (failure_only_slows(scenario))
        return "a failing link leads to a reduced speed only, which does not end every hazard";
    const std::optional<Duration> limit = time.limit();
    if (!limit) return "";
    if (!time.response.response) return "the link has no bound, so nothing keeps " + limit_in_words(time);
    if (!time.overall()) return "the machine's stop may not be counted, so there is no overall time";
    if (*time.overall() <= *limit) return "";
    std::string why =
        written(*time.overall()) + " from the demand to the end of the hazard, over " + limit_in_words(time);
    if (!time.within || !time.by_distance || time.from_reduced.counts()) return why;
    const bool by_within = time.binds == FunctionTime::Binds::within;
    return why + ", the smaller limit (" +
           (by_within ? "the distance leaves " + written(*time.by_distance)
                      : within_in_words(time) + " is longer than the distance allows") +
           ")";
}

/// What decides between the safeguards of a function, and between functions: less comes first.
struct Tightness {
    bool kept;
    bool bounded;
    std::int64_t spare_ns;
    std::int64_t minus_overall_ns;
    friend auto operator<=>(const Tightness&, const Tightness&) = default;
};
Tightness tightness_of(const FunctionTime& time) {
    const std::int64_t overall = time.overall().value_or(Duration{}).ns;
    const std::optional<Duration> spare = time.spare();
    constexpr std::int64_t no_limit = proto::seconds(1'000'000).ns;
    return {.kept = time.kept,
            .bounded = time.overall().has_value(),
            .spare_ns = spare ? spare->ns : no_limit,
            .minus_overall_ns = -overall};
}

bool tighter(const FunctionTime& a, const FunctionTime& b) { return tightness_of(a) < tightness_of(b); }

/// Whatever the watchdog, one of them is judged so; the link alone may be too slow or have no bound.
bool kept_with(const Scenario& scenario, std::size_t function) {
    const SafetyFunction& asked = scenario.functions[function];
    for (std::size_t must = 0; must < asked.must.size(); ++must)
        for (const std::string& safeguard : asked.safeguards)
            if (!time_of(scenario, function, must, safeguard).kept) return false;
    return true;
}

}  // namespace

std::optional<Duration> FunctionTime::overall_by_distance() const {
    if (!from_reduced.counts()) return response.overall;
    if (!response.response || !from_reduced.stopping) return std::nullopt;
    return *response.response + *from_reduced.stopping;
}

std::optional<Duration> FunctionTime::spare() const {
    const std::optional<Duration> most = limit();
    if (!most || !overall()) return std::nullopt;
    return *most - *overall();
}

std::optional<Duration> FunctionTime::left_for_link() const {
    const std::optional<Duration> most = limit();
    if (!most || !stopping() || !reaches() || all_but_link(response) + *stopping() > *most) return std::nullopt;
    unsigned segment = 0;
    for (const ResponsePart& part : response.parts)
        if (part.name == "link") segment = part.segment;
    Duration taken = *stopping();
    // what the link's episode disturbs too is late with it
    for (const ResponsePart& part : response.parts)
        if (part.name != "link")
            taken = taken + (segment != 0 && part.segment == segment ? part.with_fault : part.delay);
    if (taken > *most) return std::nullopt;
    return *most - taken;
}

bool failure_only_slows(const Scenario& scenario) {
    const std::optional<Reached> failing = reached_by_failure(scenario);
    return failing && failing->stop == StopCategory::reduced_speed && !reduced_speed_counts(scenario);
}

FunctionTime time_of(const Scenario& scenario, std::size_t function, std::size_t must, const std::string& safeguard) {
    FunctionTime time;
    time.function = function;
    time.must = must;
    time.safeguard = safeguard;
    time.response = response_of(scenario, safeguard);
    for (const ResponsePart& part : time.response.parts)
        if (part.name == "link") time.link = part.with_fault;
    if (time.response.stopping) time.others = all_but_link(time.response) + *time.response.stopping;
    time.reduced_speed_counts = reduced_speed_counts(scenario, scenario.functions[function]);
    add_limits(scenario, scenario.functions[function], time);
    time.why = fault_in(scenario, time);
    time.kept = time.why.empty();
    return time;
}

std::vector<FunctionTime> function_times(const Scenario& scenario) {
    std::vector<FunctionTime> all;
    for (std::size_t f = 0; f < scenario.functions.size(); ++f) {
        const SafetyFunction& function = scenario.functions[f];
        for (std::size_t must = 0; must < function.must.size(); ++must) {
            std::optional<FunctionTime> least;
            for (const std::string& safeguard : function.safeguards) {
                FunctionTime time = time_of(scenario, f, must, safeguard);
                if (!least || tighter(time, *least)) least = std::move(time);
            }
            if (least) all.push_back(std::move(*least));
        }
    }
    return all;
}

const FunctionTime* tightest(const std::vector<FunctionTime>& times) {
    const auto least = std::min_element(times.begin(), times.end(), tighter);
    return least == times.end() ? nullptr : &*least;
}

Scenario seen_by(const Scenario& scenario, const FunctionTime& time) {
    Scenario seen = scenario;
    seen.distance = time.guard;
    if (seen.distance) seen.distance->safeguard = time.safeguard;
    seen.demands = {{.safeguard = time.safeguard, .at = {}, .lasting = {}, .where = {}}};
    seen.required.overall = time.within;
    if (!time.from_reduced.counts()) return seen;
    if (time.binds_from_reduced()) {
        seen.machine->speed_um_s = time.from_reduced.um_s;
        seen.required.overall.reset();
    } else if (seen.distance) {
        seen.distance->there_um.reset();
    }
    return seen;
}

bool has_limit(const Scenario& scenario, const SafetyFunction& function) {
    if (scenario.required.overall) return true;
    if (std::any_of(function.must.begin(), function.must.end(), [](const MustReact& m) { return m.within; }))
        return true;
    return std::any_of(function.safeguards.begin(), function.safeguards.end(), [&](const std::string& safeguard) {
        const std::optional<GuardDistance> guard = distance_of_guard(scenario, function, safeguard);
        return guard && guard->there_um;
    });
}

std::optional<Duration> longest_watchdog_for(const Scenario& scenario, std::size_t function) {
    return longest_watchdog_with(scenario, [&](const Scenario& s) { return kept_with(s, function); });
}

std::optional<LeftForLink> least_left_for_link(const std::vector<FunctionTime>& times) {
    std::optional<LeftForLink> least;
    for (const FunctionTime& time : times)
        if (const auto left = time.left_for_link(); left && (!least || *left < least->time))
            least = LeftForLink{*left, time.function};
    return least;
}

std::string limit_in_words(const FunctionTime& time) {
    const std::optional<Duration> limit = time.limit();
    if (!limit) return "no limit";
    if (time.binds == FunctionTime::Binds::within) return within_in_words(time);
    return "the " + written(*limit) + " that the distance of " + written(micrometres(*time.guard->there_um)) +
           " leaves" +
           (time.binds_from_reduced() ? " from " + written(micrometres(time.from_reduced.um_s)) + "/s" : "");
}

}  // namespace sim
