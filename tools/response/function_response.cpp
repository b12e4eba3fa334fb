#include "tools/response/function_response.hpp"

#include <algorithm>
#include <map>
#include <utility>

#include "sim/scenario/units.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

using Binds = sim::FunctionTime::Binds;

const sim::SafetyFunction& function_of(const FunctionResponse& one) { return one.seen_by.functions[one.time.function]; }
const sim::MustReact& must_of(const FunctionResponse& one) { return function_of(one).must[one.time.must]; }

FunctionResponse reckoned(const sim::Scenario& scenario, const sim::FunctionTime& time) {
    FunctionResponse one{.time = time, .seen_by = sim::seen_by(scenario, time), .found = {}};
    ResponseFound& found = one.found;
    found.response = time.response;
    if (time.binds_from_reduced()) {
        found.response.stops = time.from_reduced.stops;
        found.response.stopping = time.from_reduced.stopping;
        found.response.overall = time.overall();
    }
    if (!time.reaches()) {
        found.response.no_way = true;
        found.response.response = found.response.overall = std::nullopt;
    } else {
        found.distance = time.needed;
    }
    found.kept = time.kept ? sim::tables_kept(one.seen_by, found.response) : sim::Kept{false, time.why};
    found.longest = sim::longest_watchdog_by_tables(one.seen_by);
    const bool at_device = !scenario.machine || scenario.machine->at == sim::End::device;
    found.anything_stated =
        time.limit() || !found.kept.kept || (at_device ? scenario.required.to_device : scenario.required.to_controller);
    return one;
}

std::string_view name_of(Binds binds) {
    switch (binds) {
        case Binds::nothing: return "";
        case Binds::within: return "within";
        case Binds::distance: return "distance";
    }
    return "?";
}

/// The keys of the function before those of every response.
Value::Object keys_of(const FunctionResponse& one) {
    const sim::SafetyFunction& function = function_of(one);
    Value::Object keys{
        {"name", function.name},
        {"machine", must_of(one).machine},
        {"must", sim::name_of(must_of(one).must)},
        {"level", function.level ? Value(sim::written(*function.level)) : Value()},
        {"within_ms", Value::of(one.time.within)},
        {"by_distance_ms", Value::of(one.time.by_distance)},
        {"limit_by", Value::text_or_null(name_of(one.time.binds))},
        {"left_for_link_ms", Value::of(one.time.left_for_link())},
        {"hazard_ends", one.time.reduced_speed_counts ? "reduced-speed" : "standstill"},
    };
    if (const sim::FromReduced& from = one.time.from_reduced; from.asked)
        keys.push_back({"distance_from", Value::Object{{"speed", from.counts() ? "reduced" : "full"},
                                                       {"after", from.outer},
                                                       {"why", sim::in_words(from)}}});
    const Value rest = describe(one.seen_by, one.found);
    for (const Value::Member& member : *rest.object())
        if (member.key != "scenario" && member.key != "watchdog_ms") keys.push_back(member);
    return keys;
}

void block(Page& page, const FunctionResponse& one) {
    const sim::SafetyFunction& function = function_of(one);
    page.blank();
    std::string asked = must_of(one).machine + ": " + std::string(sim::name_of(must_of(one).must));
    if (function.level) asked += ", " + sim::written(*function.level);
    const std::string word = !one.good() ? "NOT KEPT" : one.found.anything_stated ? "kept" : "no limit stated";
    page.paragraph("Function   ", "\"" + function.name + "\", " + asked + ": " + word +
                                      (one.found.kept.kept ? "." : ", " + one.found.kept.why + "."));
    if (!one.time.reaches()) return;
    response_parts(page, one.found);
    response_figures(page, one.seen_by, one.found);
    if (one.time.from_reduced.asked) page.paragraph("           ", "It " + sim::in_words(one.time.from_reduced) + ".");
    if (const auto left = one.time.left_for_link())
        page.paragraph("Link       ", sim::written(*left) + " are left for it by " + sim::limit_in_words(one.time) +
                                          "; it takes " + (one.time.link ? sim::written(*one.time.link) : "any time") +
                                          ".");
}

/// "484 mm are needed, 520 mm are there", where the distance is the limit that binds.
std::string distance_figures(const FunctionResponse& one) {
    if (one.time.binds != Binds::distance || !one.found.distance) return "";
    return std::to_string(sim::whole_mm_up(one.found.distance->needed)) + " mm are needed, " +
           sim::written(sim::micrometres(*one.time.guard->there_um)) + " are there";
}

void head(Page& page, const sim::Scenario& scenario, const FunctionResponses& found) {
    const std::string title = plain(scenario.title);
    const auto above = std::find_if(found.all.begin(), found.all.end(),
                                    [](const FunctionResponse& one) { return !one.found.seen_within_bound(); });
    if (above != found.all.end())
        return page.headline("ABOVE THE BOUND", Hue::danger,
                             title + ": a response longer than the calculated worst was seen. Please report this.");
    const auto bad =
        std::find_if(found.all.begin(), found.all.end(), [](const FunctionResponse& one) { return !one.good(); });
    const FunctionResponse& decides = found.all[found.decides];
    const FunctionResponse& worst = decides.good() && bad != found.all.end() ? *bad : decides;
    const std::string name = "\"" + function_of(worst).name + "\"";
    if (const std::string figures = distance_figures(worst); !figures.empty() && !worst.time.kept)
        return page.headline("TOO NEAR", Hue::danger, title + ": " + name + ": " + figures + ".");
    if (!worst.good())
        return page.headline("NOT KEPT", Hue::danger, title + ": " + name + ": " + worst.found.kept.why + ".");
    if (!found.tables.kept) return page.headline("NOT KEPT", Hue::danger, title + ": " + found.tables.why + ".");
    const std::string count = counted(found.all.size(), "function", "functions");
    if (const std::string figures = distance_figures(worst); !figures.empty())
        return page.headline("FAR ENOUGH", Hue::good,
                             title + ": " + name + " has the least to spare of " + count + ": " + figures + ".");
    if (const auto spare = worst.time.spare())
        return page.headline("IN TIME", Hue::good,
                             title + ": " + count + "; " + name + " has the least to spare, " + sim::written(*spare) +
                                 " under " + sim::limit_in_words(worst.time) + ".");
    page.headline("ADDED UP", Hue::none, title + ": " + count + ", none of which says how soon (within, distance).");
}

}  // namespace

bool FunctionResponses::good() const {
    return tables.kept && std::all_of(all.begin(), all.end(), [](const FunctionResponse& one) { return one.good(); });
}

FunctionResponses respond_for_functions(const sim::Scenario& scenario,
                                        const std::function<sim::WorstSeen(const sim::Scenario&)>& search) {
    FunctionResponses found;
    const std::vector<sim::FunctionTime> times = sim::function_times(scenario);
    found.decides = static_cast<std::size_t>(sim::tightest(times) - times.data());
    found.tables = sim::tables_kept(scenario, sim::response_of(scenario));
    std::map<std::string, sim::WorstSeen> seen;
    for (const sim::FunctionTime& time : times) {
        FunctionResponse one = reckoned(scenario, time);
        if (time.reaches()) {
            const auto known = seen.find(time.safeguard);
            one.found.seen = known != seen.end() ? known->second : seen[time.safeguard] = search(one.seen_by);
            if (!one.found.seen.link_started)
                one.found.kept = {false, "the link does not start with these settings"};
            else if (!one.found.seen.reaches)
                one.found.kept = {false, "the demand does not reach the output even without a fault"};
            one.found.anything_stated = one.found.anything_stated || !one.found.kept.kept;
        }
        found.all.push_back(std::move(one));
    }
    return found;
}

Value describe(const sim::Scenario& scenario, const FunctionResponses& found) {
    const FunctionResponse& decides = found.all[found.decides];
    Value::Object document = *describe(decides.seen_by, decides.found).object();
    for (Value::Member& member : document) {
        if (member.key == "scenario") member.value = scenario.file;
        if (member.key == "met") member.value = decides.found.anything_stated ? Value(found.good()) : Value();
    }
    Value::List functions;
    for (const FunctionResponse& one : found.all) functions.emplace_back(keys_of(one));
    document.push_back({"functions", std::move(functions)});
    return document;
}

Page page_of(const sim::Scenario& scenario, const FunctionResponses& found, Columns columns) {
    Page page(columns);
    head(page, scenario, found);
    std::vector<std::string> cautions;
    for (const FunctionResponse& one : found.all) {
        block(page, one);
        for (const std::string& caution : response_cautions(one.found))
            if (std::find(cautions.begin(), cautions.end(), caution) == cautions.end()) cautions.push_back(caution);
    }
    page.blank();
    caution_lines(page, cautions);
    return page;
}

}  // namespace tools
