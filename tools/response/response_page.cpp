#include "tools/response/response_page.hpp"

#include <algorithm>

#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "tools/text/distance_words.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using proto::Duration;

const sim::ResponsePart* link_of(const sim::ResponseTime& response) {
    for (const sim::ResponsePart& part : response.parts)
        if (part.name == "link") return &part;
    return nullptr;
}

std::string_view words_for(sim::StopCategory stop) {
    switch (stop) {
        case sim::StopCategory::category_0: return "category-0";
        case sim::StopCategory::category_1: return "category-1";
        case sim::StopCategory::category_2: return "category-2";
        case sim::StopCategory::reduced_speed: return "reduced-speed";
    }
    return "?";
}

std::string joined(const std::vector<std::string>& texts) {
    std::string out;
    for (const std::string& text : texts) out += (out.empty() ? "" : ", ") + text;
    return out;
}

/// With scans on a grid and no jitter: floor(WD / T) scans to the late acceptance, and as many and one until the stop.
std::optional<Duration> tight_bound(const sim::Scenario& scenario, const sim::ResponseTime& response) {
    if (scenario.controller.link.exchange != proto::Exchange::polled || response.path.size() > 2) return std::nullopt;
    const sim::End at = scenario.machine ? scenario.machine->at : sim::End::device;
    const proto::LinkSettings& consumer = scenario.end(at).link;
    return consumer.scan * (2 * (consumer.watchdog.ns / consumer.scan.ns) + 1);
}

void head(Page& page, const sim::Scenario& scenario, const ResponseFound& found) {
    const std::string title = plain(scenario.title);
    const auto there = guard_there(scenario);
    if (!found.seen_within_bound()) {
        page.headline("ABOVE THE BOUND", Hue::danger,
                      title + ": a response longer than the calculated worst was seen. Please report this.");
    } else if (found.response.no_way) {
        page.headline("NOT KEPT", Hue::danger, title + ": the guard of [distance] does not reach the output.");
    } else if (found.distance && there) {
        const sim::Length spare = *there - found.distance->needed;
        const std::string figures = std::to_string(sim::whole_mm_up(found.distance->needed)) + " mm are needed, " +
                                    sim::written(*there) + " are there";
        if (spare.pm < 0)
            page.headline("TOO NEAR", Hue::danger, title + ": " + figures + ".");
        else if (!found.kept.kept)
            page.headline("NOT KEPT", Hue::danger,
                          title + ": " + found.kept.why + ". The distance is enough: " + figures + ".");
        else
            page.headline("FAR ENOUGH", Hue::good, title + ": " + figures + ".");
    } else if (!found.kept.kept) {
        page.headline("NOT KEPT", Hue::danger, title + ": " + found.kept.why + ".");
    } else {
        const std::string sum = found.response.response ? in_ms(*found.response.response, Rounding::up) +
                                                              " from the demand to the output command"
                                                        : std::string("the response has no bound");
        page.headline(
            "ADDED UP", Hue::none,
            title + ": " + sum + (scenario.distance ? "." : ". The scenario states no distance ([distance])."));
    }
}

}  // namespace

void response_parts(Page& page, const ResponseFound& found) {
    page.blank();
    std::size_t name_width = 4;
    for (const sim::ResponsePart& part : found.response.parts)
        name_width = std::max(name_width, std::min<std::size_t>(plain(part.name).size(), 24));
    constexpr std::size_t column = 10;
    const auto lead = [&](const std::string& name, const std::string& delay, const std::string& with_fault) {
        return " " + left_aligned(plain(name), name_width) + "  " + right_aligned(delay, column) + "  " +
               right_aligned(with_fault, column) + "  ";
    };
    const auto in_column = [](Duration time) {
        const std::string exact = exact_ms(time) + " ms";
        return exact.size() <= column ? exact : in_ms(time, Rounding::up);
    };
    page.paragraph(lead("part", "no fault", "one fault"), "source");
    for (const sim::ResponsePart& part : found.response.parts) {
        page.paragraph(lead(part.name, in_column(part.delay), in_column(part.with_fault)),
                       part.source.empty() ? "-" : part.source);
    }
    if (found.response.response && found.response.apart) {
        page.paragraph(lead("one link", "", exact_ms(*found.response.apart) + " ms"),
                       "one link disturbed: all without a fault, and the one that loses most by a fault with it");
        const bool together = found.response.response != found.response.apart;
        page.paragraph(lead("response", "", exact_ms(*found.response.response) + " ms"),
                       together ? "what the links share disturbed: one episode in all of them; this counts, since "
                                  "nothing says that they are on separate segments"
                                : "as the links are stated to be on separate segments");
    } else if (found.response.response) {
        page.paragraph(lead("response", "", exact_ms(*found.response.response) + " ms"),
                       "all without a fault, and the one that loses most by a fault with it");
    }
}

namespace {

void seen(Page& page, const sim::Scenario& scenario, const ResponseFound& found) {
    const sim::ResponseTime& r = found.response;
    const auto worst = found.worst_seen();
    if (!found.seen.link_started) {
        page.paragraph("Seen       ",
                       "nothing: the link does not start with these settings. Compare the ends: linkdrill check.");
    } else if (!worst) {
        page.paragraph("Seen       ",
                       "nothing: a demand does not reach the output even without a fault, since the bit maps differ. "
                       "Compare the ends: linkdrill check.");
    } else {
        std::string text = "worst seen " + in_ms(*worst, Rounding::up);
        if (r.response) text += " of " + in_ms(*r.response, Rounding::down);
        if (found.over_links) {
            text += " in " + grouped(found.over_links->tried) +
                    " placings over all links of its way: " + plain(found.over_links->words) + ".";
            if (found.over_links->never) text += " THE DEMAND NEVER REACHED THE OUTPUT.";
            return page.paragraph("Seen       ", text +
                                                     " What is left to the bound lies in the grid of the scans and "
                                                     "in what no placing met at once.");
        }
        text += " in " + grouped(found.seen.tried) + " placings: " + sim::words_of(found.seen.placing) + ".";
        if (found.seen.never) text += " THE DEMAND NEVER REACHED THE OUTPUT.";
        const auto tight = tight_bound(scenario, r);
        const sim::ResponsePart* link = link_of(r);
        if (tight && link != nullptr && *tight < link->with_fault) {
            text += " The rest is the grid of the scans: without jitter the link takes no more than " +
                    in_ms(*tight, Rounding::up) + " of its " + in_ms(link->with_fault, Rounding::down) + ".";
        } else if (link != nullptr && found.seen.link < link->with_fault) {
            text += " What is left to the bound lies in the grid of the scans and in what no placing met at once.";
        }
        page.paragraph("Seen       ", text);
    }
}

void watchdog(Page& page, const sim::Scenario& scenario, const sim::LongestWatchdog& found) {
    const auto now = [&](const sim::TypedEnd& end) { return sim::written(end.link.watchdog); };
    const std::string now_set = scenario.controller.link.watchdog == scenario.device.link.watchdog
                                    ? now(scenario.controller)
                                    : now(scenario.controller) + " and " + now(scenario.device);
    if (found.none) {
        page.paragraph("Watchdog   ", "now " + now_set + "; no watchdog, however short, keeps all that is stated.");
    } else if (const auto longest = found.longest()) {
        std::vector<std::string> by;
        const auto add = [&](const std::optional<Duration>& time, const char* what) {
            if (time) by.push_back(sim::written(*time) + " for the " + what);
        };
        add(found.by_function, "tightest function");
        add(found.by_distance, "distance");
        add(found.by_overall, scenario.functions.empty() ? "required overall time" : "required time");
        add(found.by_link, "response required of the link");
        page.paragraph("Watchdog   ", "now " + now_set + "; longest " + joined(by) + ".");
    }
}

}  // namespace

void response_figures(Page& page, const sim::Scenario& scenario, const ResponseFound& found) {
    const sim::ResponseTime& r = found.response;
    page.blank();
    if (!r.path.empty())
        page.paragraph(
            "Way        ", r.safeguard + " -> " + [&] {
                std::string text;
                for (const std::string& signal : r.path) text += (text.empty() ? "" : " -> ") + signal;
                return text;
            }());
    seen(page, scenario, found);
    for (const sim::StoppingPart& stop : r.stops) {
        page.paragraph("Stop       ",
                       stop.signal + ": " + (stop.time ? in_ms(*stop.time, Rounding::up) : std::string("not counted")) +
                           "; " + stop.source + (stop.by_guard ? "." : ". Only after an error of the link."));
    }
    if (r.overall) {
        page.paragraph("Overall    ",
                       exact_ms(*r.response) + " ms response + " + exact_ms(*r.stopping) +
                           " ms stopping = " + exact_ms(*r.overall) + " ms" +
                           (scenario.required.overall ? ", required " + exact_ms(*scenario.required.overall) + " ms"
                                                      : std::string()) +
                           ".");
    }
    if (found.distance) {
        page.paragraph("Distance   ", distance_line(scenario, *found.distance) + ".");
        page.paragraph("           ", found.distance->formula);
    } else if (!scenario.distance) {
        page.paragraph("Distance   ", scenario.functions.empty() ? "none: the scenario has no table [distance]."
                                                                 : "none: the function states none.");
    } else {
        page.paragraph("Distance   ", "none: without an overall time there is none.");
    }
    watchdog(page, scenario, found.longest);
}

std::vector<std::string> response_cautions(const ResponseFound& found) {
    std::vector<std::string> cautions = found.response.cautions;
    if (found.distance)
        cautions.insert(cautions.end(), found.distance->cautions.begin(), found.distance->cautions.end());
    return cautions;
}

void caution_lines(Page& page, const std::vector<std::string>& cautions) {
    for (std::size_t i = 0; i < cautions.size(); ++i)
        page.paragraph(i == 0 ? "Caution    " : "           ", cautions[i]);
}

std::optional<Duration> ResponseFound::worst_seen() const {
    if (over_links) {
        if (!over_links->response) return std::nullopt;
        Duration sum = *over_links->response;
        for (const sim::ResponsePart& part : response.parts)
            if (part.segment == 0) sum = sum + part.delay;
        return sum;
    }
    if (!seen.any()) return std::nullopt;
    Duration sum = seen.link;
    for (const sim::ResponsePart& part : response.parts)
        if (part.name != "link") sum = sum + part.delay;
    return sum;
}

bool ResponseFound::seen_within_bound() const {
    const auto worst = worst_seen();
    if (over_links) return !over_links->never && (!worst || !response.response || *worst <= *response.response);
    const sim::ResponsePart* link = link_of(response);
    if (!worst || link == nullptr) return true;
    return seen.link <= link->with_fault && !seen.never;
}

Value mm_value(sim::Length length) {
    constexpr std::int64_t pm_in_mm = 1'000'000'000;
    if (length.pm % pm_in_mm == 0) return length.pm / pm_in_mm;
    return static_cast<double>(length.pm) / 1e9;
}

Value describe(const sim::Scenario& scenario, const ResponseFound& found) {
    const sim::ResponseTime& r = found.response;
    Value::List parts, stops;
    for (const sim::ResponsePart& part : r.parts) {
        parts.emplace_back(Value::Object{
            {"name", part.name}, {"delay_ms", part.delay}, {"watchdog_ms", part.with_fault}, {"source", part.source}});
    }
    for (const sim::StoppingPart& stop : r.stops) {
        stops.emplace_back(Value::Object{{"signal", stop.signal},
                                         {"stop", words_for(stop.stop)},
                                         {"by_guard", stop.by_guard},
                                         {"stopping_ms", Value::of(stop.time)},
                                         {"source", stop.source}});
    }
    Value distance;
    std::optional<sim::Length> spare;
    const auto there = guard_there(scenario);
    if (found.distance) {
        distance = Value::Object{{"edition", sim::name_of(scenario.distance->how.edition)},
                                 {"case", sim::name_of(scenario.distance->how.approach)},
                                 {"formula", found.distance->formula},
                                 {"needed_mm", mm_value(found.distance->needed)},
                                 {"needed_whole_mm", sim::whole_mm_up(found.distance->needed)},
                                 {"cautions", Value::list_of(found.distance->cautions)}};
        if (there) spare = *there - found.distance->needed;
    }
    const sim::ResponsePart* link = link_of(r);
    const bool main_is_device = !scenario.machine || scenario.machine->at == sim::End::device;
    Value::Object document{
        {"scenario", scenario.file},
        {"safeguard", Value::text_or_null(r.safeguard)},
        {"path", Value::list_of(r.path)},
        {"parts", std::move(parts)},
        {"response_ms", Value::of(r.response)},
        {"stops", std::move(stops)},
        {"stopping_ms", Value::of(r.stopping)},
        {"overall_ms", Value::of(r.overall)},
        {"worst_seen_ms", Value::of(found.worst_seen())},
        {"link",
         Value::Object{{"bound_ms", link != nullptr ? Value(link->with_fault) : Value()},
                       {"worst_seen_ms", found.seen.any() ? Value(found.seen.link) : Value()},
                       {"tight_ms", Value::of(tight_bound(scenario, r))},
                       {"placings", found.seen.tried},
                       {"worst_placing", found.seen.any() ? Value(sim::words_of(found.seen.placing)) : Value()}}},
        {"distance", std::move(distance)},
        {"there_mm", there ? mm_value(*there) : Value()},
        {"spare_mm", spare ? mm_value(*spare) : Value()},
        {"required", Value::Object{{"overall_ms", Value::of(scenario.required.overall)},
                                   {"link_ms", Value::of(main_is_device ? scenario.required.to_device
                                                                        : scenario.required.to_controller)}}},
        {"met", found.anything_stated ? Value(found.kept.kept) : Value()},
        {"why", Value::text_or_null(found.kept.why)},
        {"watchdog_ms",
         Value::Object{{"controller", scenario.controller.link.watchdog}, {"device", scenario.device.link.watchdog}}},
        {"longest_watchdog_ms", Value::of(found.longest.longest())},
        {"longest_watchdog_by", Value::Object{{"distance_ms", Value::of(found.longest.by_distance)},
                                              {"overall_ms", Value::of(found.longest.by_overall)},
                                              {"link_ms", Value::of(found.longest.by_link)}}},
        {"cautions", Value::list_of(r.cautions)},
    };
    if (r.apart) document.push_back({"one_link_disturbed_ms", *r.apart});
    return document;
}

Page page_of(const sim::Scenario& scenario, const ResponseFound& found, Columns columns) {
    Page page(columns);
    head(page, scenario, found);
    response_parts(page, found);
    response_figures(page, scenario, found);
    caution_lines(page, response_cautions(found));
    return page;
}

}  // namespace tools
