#include "tools/desk/watchdog_told.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <optional>
#include <utility>

#include "sim/odds/odds_words.hpp"
#include "sim/scenario/units.hpp"
#include "sim/timing/cell_ways.hpp"
#include "sim/timing/function_time.hpp"
#include "sim/timing/response.hpp"
#include "tools/desk/bits_told.hpp"
#include "tools/desk/typed_plant.hpp"
#include "tools/text/look_up.hpp"

namespace tools {
namespace {

constexpr double ns_per_ms = 1e6;
constexpr double points_about = 50.0;

sim::Scenario view_of(const TypedPlant& typed, std::size_t link) {
    return typed.is_cell() ? sim::decisive_view(typed.cell(), link) : typed.link(0);
}

/// Each part with what it takes at most, so that their sum is the response: the parts that one episode disturbs with
/// the largest excess take what they take with a fault.
Value parts_told(const sim::ResponseTime& response) {
    std::map<unsigned, proto::Duration> excess;
    constexpr unsigned alone_from = 1U << 16U;  // a part in no segment is disturbed alone
    const auto group_of = [&](std::size_t i) {
        const unsigned segment = response.parts[i].segment;
        return segment != 0 ? segment : alone_from + static_cast<unsigned>(i);
    };
    for (std::size_t i = 0; i < response.parts.size(); ++i)
        excess[group_of(i)] = excess[group_of(i)] + (response.parts[i].with_fault - response.parts[i].delay);
    unsigned worst = 0;
    for (const auto& [group, time] : excess)
        if (worst == 0 || excess[worst] < time) worst = group;
    Value::List parts;
    for (std::size_t i = 0; i < response.parts.size(); ++i) {
        const sim::ResponsePart& part = response.parts[i];
        const proto::Duration time = group_of(i) == worst ? part.with_fault : part.delay;
        if (time == proto::Duration{}) continue;
        parts.push_back(Value::Object{{"name", part.name}, {"ms", time}});
    }
    if (response.stopping) parts.push_back(Value::Object{{"name", "stop"}, {"ms", *response.stopping}});
    return parts;
}

/// Stops a year, by the side that is never better than the truth.
std::string stops_in_words(const Value& point) {
    const auto claimed = look_up_number(point, "trips_per_year"), high = look_up_number(point, "high");
    if (claimed) {
        if (*claimed == 0.0) return "never, in the channel as described";
        if (high && *high > *claimed * 1.2) return sim::in_words_of(*claimed) + ", at most " + sim::in_words_of(*high);
        return sim::in_words_of(*claimed);
    }
    return high ? "at most " + sim::in_words_of(*high) : "not known";
}

std::string measured_in_words(const Value& measured) {
    const auto samples = look_up_number(measured, "samples"), longer = look_up_number(measured, "longer");
    if (!samples || !longer) return {};
    return grouped(count_of(longer)) + " of " + grouped(count_of(samples)) +
           " measured exchanges were longer than what runs with it";
}

/// The function that decides, and what it asks; nothing where none does.
struct Decides {
    std::optional<proto::Duration> limit;
    std::optional<std::int64_t> there_um;
    std::string words;
};
Decides decided_by(const sim::Scenario& view) {
    const std::vector<sim::FunctionTime> times = sim::function_times(view);
    const sim::FunctionTime* const tightest = sim::tightest(times);
    Decides decides;
    if (tightest != nullptr) {
        decides.limit = tightest->limit();
        decides.words = view.functions[tightest->function].name;
        if (tightest->guard) decides.there_um = tightest->guard->there_um;
    } else {
        decides.limit = view.required.overall;
        if (view.distance) decides.there_um = view.distance->there_um;
    }
    return decides;
}

sim::ResponseTime response_with(const sim::Scenario& view, proto::Duration watchdog) {
    const sim::Scenario tried = sim::with_watchdog(view, watchdog);
    const std::vector<sim::FunctionTime> times = sim::function_times(tried);
    const sim::FunctionTime* const tightest = sim::tightest(times);
    return tightest != nullptr ? tightest->response : sim::response_of(tried);
}

Value point_told(const sim::Scenario& view, const Value& point, bool agree) {
    const double ms = look_up_number(point, "watchdog_ms").value_or(0.0);
    const proto::Duration watchdog{static_cast<std::int64_t>(std::llround(ms * ns_per_ms))};
    const Value& claimed = look_up(point, "trips_per_year");
    Value usable;
    if (agree) usable = look_up(point, "usable");
    return Value::Object{{"watchdog_ms", look_up(point, "watchdog_ms")},
                         {"stops_per_year", Value::Object{{"value", claimed},
                                                          {"low", look_up(point, "low")},
                                                          {"high", look_up(point, "high")},
                                                          {"words", stops_in_words(point)}}},
                         {"response_ms", look_up(point, "response_ms")},
                         {"overall_ms", look_up(point, "overall_ms")},
                         {"needed_mm", look_up(point, "needed_mm")},
                         {"spare_mm", look_up(point, "spare_mm")},
                         {"usable", std::move(usable)},
                         {"why", agree ? look_up(point, "why") : Value()},
                         {"parts", is_null(look_up(point, "overall_ms")) ? Value(Value::List{})
                                                                         : parts_told(response_with(view, watchdog))},
                         {"measured", Value::text_or_null(measured_in_words(look_up(point, "measured")))}};
}

std::string window_in_words(const Value& document, bool agree) {
    const Value& window = look_up(document, "window");
    const std::string why = look_up_text(document, "why");
    if (look_up(document, "cannot_be_told").is_true()) return "Cannot be told: " + why;
    if (is_null(window)) return "No usable watchdog: " + why;
    const auto ms = [&](const char* key) { return tenths(look_up(window, key), Rounding::up) + " ms"; };
    const std::string to = is_null(look_up(window, "to_ms")) ? " on, with nothing that ends it" : " to " + ms("to_ms");
    return (agree ? "Usable from " : "Usable once the ends agree: from ") + ms("from_ms") + to + ".";
}

}  // namespace

std::vector<std::string> options_between(const Value& document) {
    const Value::List& points = look_up_list(document, "points");
    if (points.size() < 2) return {};
    const double from = look_up_number(points.front(), "watchdog_ms").value_or(0.0);
    const double to = look_up_number(points.back(), "watchdog_ms").value_or(0.0);
    constexpr std::array steps{0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0};
    const auto step =
        std::find_if(steps.begin(), steps.end(), [&](double one) { return (to - from) / one <= points_about; });
    if (step == steps.end() || !(from > 0.0) || !(to > from)) return {};
    const auto typed = [](double ms) {
        return sim::written(proto::Duration{static_cast<std::int64_t>(std::llround(ms * ns_per_ms))});
    };
    return {"--from", typed(from), "--to", typed(to), "--step", typed(*step)};
}

Value watchdog_told(const TypedPlant& typed, std::size_t link, const WatchdogAnswers& answers, bool agree) {
    const sim::Scenario view = view_of(typed, link);
    std::map<double, const Value*> by_time;
    for (const Value* const document : {answers.first, answers.more}) {
        if (document == nullptr) continue;
        for (const Value& point : look_up_list(*document, "points"))
            by_time.emplace(look_up_number(point, "watchdog_ms").value_or(0.0), &point);
    }
    Value::List points;
    for (const auto& [ms, point] : by_time) points.push_back(point_told(view, *point, agree));
    const Decides decides = decided_by(view);
    constexpr double um_per_mm = 1e3;
    Value there;
    if (decides.there_um) there = static_cast<double>(*decides.there_um) / um_per_mm;
    const proto::Duration at_controller = typed.link(link).controller.link.watchdog,
                          at_device = typed.link(link).device.link.watchdog;
    const double shortest = static_cast<double>(std::min(at_controller, at_device).ns) / ns_per_ms,
                 longest = static_cast<double>(std::max(at_controller, at_device).ns) / ns_per_ms;
    Value state = answers.reckons ? "reckoning" : "exact";
    return Value::Object{{"link", typed.link_name(link)},
                         {"now_ms", longest},
                         {"now_shortest_ms", shortest},
                         {"state", std::move(state)},
                         {"agree", agree},
                         {"points", std::move(points)},
                         {"limit_per_year", look_up(*answers.first, "limit_per_year")},
                         {"required_ms", Value::of(decides.limit)},
                         {"there_mm", std::move(there)},
                         {"decides", decides.words},
                         {"window", look_up(*answers.first, "window")},
                         {"ideal_channel", look_up(*answers.first, "ideal_channel")},
                         {"sentence", window_in_words(*answers.first, agree)},
                         {"why", look_up(*answers.first, "why")},
                         {"cautions", look_up(*answers.first, "cautions")},
                         {"path", paths_of(typed, link).link + "watchdog"}};
}

}  // namespace tools
