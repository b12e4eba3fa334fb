#include "tools/endurance/endurance_page.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <utility>

#include "sim/scenario/scenario.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using proto::End;
using proto::Measure;

constexpr double seconds_per_year = 365.25 * 86400.0;
constexpr std::size_t indent = 12;  // "Stopped at  "

/// Three digits that count: "0.0123", "12.3", "12 300".
std::string digits(double value) {
    if (value >= 1000.0 && value < 1e15) return grouped(static_cast<std::uint64_t>(std::llround(value)));
    std::array<char, 40> text{};
    std::snprintf(text.data(), text.size(), "%.3g", value);
    return text.data();
}

std::string years_of(double years) {
    const std::string number = digits(years);
    return number + (number == "1" ? " year" : " years");
}

const char* word_of(EnduranceVerdict verdict) {
    switch (verdict) {
        case EnduranceVerdict::pass: return "PASS";
        case EnduranceVerdict::undecided: return "UNDECIDED";
        case EnduranceVerdict::fail:
        case EnduranceVerdict::not_running: return "FAIL";
        case EnduranceVerdict::dangerous: return "DANGEROUS";
        case EnduranceVerdict::stopped: return "STOPPED";
    }
    return "?";
}

Hue hue_of(EnduranceVerdict verdict) {
    switch (verdict) {
        case EnduranceVerdict::pass: return Hue::good;
        case EnduranceVerdict::undecided:
        case EnduranceVerdict::stopped: return Hue::caution;
        case EnduranceVerdict::fail:
        case EnduranceVerdict::not_running:
        case EnduranceVerdict::dangerous: return Hue::danger;
    }
    return Hue::none;
}

std::string title_of(const sim::Scenario& scenario) {
    return plain(scenario.title.empty() ? scenario.file : scenario.title);
}

std::string allowed_of(const sim::TripLimit& limit) {
    const std::string number = digits(limit.per_year);
    return limit.stated ? number + " allowed" : number + " allowed (not stated: one in ten years is taken)";
}

/// How long it would have to run without a stop to show the limit: 3.69 is the upper bound of a count of 0.
double years_to_show(const sim::TripLimit& limit) { return sim::poisson_interval(0).high / limit.per_year; }

void head(Page& page, const EnduranceFinding& found) {
    const std::string word = word_of(found.verdict);
    const std::string blank(word.size() + 2, ' ');
    const Hue hue = hue_of(found.verdict);
    const sim::EnduranceResult& result = found.result;
    const std::string title = title_of(found.scenario);
    if (found.verdict == EnduranceVerdict::stopped) {
        page.headline(word, hue, title + ": nothing was finished yet.");
        return;
    }
    if (found.verdict == EnduranceVerdict::not_running) {
        page.headline(word, hue, title + ": the link did not start.");
        page.paragraph(blank,
                       "Nothing wrong was sent and nobody interfered, so the settings of the ends do not fit each "
                       "other or the channel: see linkdrill check " +
                           shell_word(found.scenario.file));
        return;
    }
    const std::uint64_t stops = result.spurious();
    std::string text = title + ": ";
    text += stops == 0 ? "no stop for nothing" : counted(stops, "stop for nothing", "stops for nothing");
    text += " in " + years_of(found.years);
    if (stops > 0 && found.per_year < 1.0) text += ", one in " + years_of(1.0 / found.per_year);
    page.headline(word, hue, text + ".");
    if (found.verdict == EnduranceVerdict::dangerous)
        page.paragraph(blank,
                       "A wrong or stale value was used " + counted(result.dangerous, "time", "times") +
                           (result.first_dangerous.empty() ? "." : ": " + result.first_dangerous.front().why + "."));
    if (found.nothing_can_happen() && stops == 0) {
        page.paragraph(blank,
                       "Nothing in this scenario's channel can stop the link: it loses and bends no telegram, and "
                       "none is late. Write what the line really does into [channel].");
        return;
    }
    page.paragraph(blank, "A year " + digits(found.per_year) + ", with 95 % confidence " + digits(found.interval.low) +
                              " to " + digits(found.interval.high) + "; " + allowed_of(found.scenario.trip_limit) +
                              ".");
    if (found.per_running_year > found.per_year * 1.01)
        page.paragraph(blank, "A year in which it runs all the time " + digits(found.per_running_year) +
                                  "; that is what is compared.");
    if (found.verdict == EnduranceVerdict::undecided && stops == 0)
        page.paragraph(blank, "Too few years to show it: without a stop it takes " +
                                  years_of(years_to_show(found.scenario.trip_limit)) + ".");
    else if (found.verdict == EnduranceVerdict::undecided)
        page.paragraph(blank, "Too few years to say that the limit is kept: simulate more.");
    page.paragraph(blank, "Simulated, with the channel's own delays, losses and bit errors; no fault, no demand.");
}

std::string causes_of(const sim::SpuriousTrips& trips) {
    if (trips.all() == 0) return "none";
    const std::string all = grouped(trips.all());
    if (trips.by_rejection == 0) return all + " by its watchdog";
    if (trips.by_watchdog == 0) return all + " by a rejected telegram";
    return all + ": " + grouped(trips.by_watchdog) + " by its watchdog, " + grouped(trips.by_rejection) +
           " by a rejected telegram";
}

std::string rejected_of(const std::array<std::uint64_t, proto::measure_count>& counts) {
    std::string text;
    for (unsigned m = 0; m < proto::measure_count; ++m)
        if (counts[m] > 0)
            text += (text.empty() ? "" : ", ") + grouped(counts[m]) + " by " +
                    std::string(word_for(static_cast<Measure>(m)));
    return text.empty() ? "nothing" : text;
}

std::string method_of(const EnduranceFinding& found) {
    const sim::EnduranceResult& result = found.result;
    if (result.method == sim::EnduranceMethod::event_loop)
        return "every one of " + grouped(result.cycles) + " cycles: " + found.outlook.why + ".";
    const double share = 100.0 * static_cast<double>(result.cycles_in_full) / static_cast<double>(result.cycles);
    return grouped(result.cycles) + " cycles. " + grouped(result.windows) +
           (result.windows == 1 ? " window" : " windows") + " in which something happened " +
           (result.windows == 1 ? "was" : "were") + " simulated in full (" + digits(share) +
           " % of the cycles); the quiet ones between were passed over, by the law of the channel.";
}

void figures(Page& page, const EnduranceFinding& found) {
    const sim::EnduranceResult& result = found.result;
    const EndNames names = full_names(found.scenario);
    page.blank();
    for (const End end : {End::controller, End::device})
        page.paragraph_at(indent, end == End::controller ? "Stops       " : "            ",
                          plain(names.of(end)) + " " + causes_of(result.trips[static_cast<std::size_t>(end)]));
    for (const End end : {End::controller, End::device})
        page.paragraph_at(indent, end == End::controller ? "Rejected    " : "            ",
                          plain(names.of(end)) + " " + rejected_of(result.rejected[static_cast<std::size_t>(end)]));
    if (result.spurious() > 0) {
        std::string stood = digits(result.seconds_stopped / result.seconds * 100.0) + " % of the time, with " +
                            counted(result.acknowledgements, "acknowledgement", "acknowledgements") + ".";
        if (result.acknowledgements == 0) stood += " Nobody acknowledges in this scenario, so a stop lasts to the end.";
        page.paragraph_at(indent, "Stood       ", stood);
    }
    page.paragraph_at(indent, "Simulated   ", method_of(found));
    if (result.parts_done < result.parts_wanted)
        page.paragraph_at(indent, "            ",
                          "Stopped early: " + grouped(result.parts_done) + " of " + grouped(result.parts_wanted) +
                              " parts were finished and count.");
    page.paragraph_at(indent, "Repeat      ",
                      "linkdrill endurance " + file_and_link(found.scenario) + " --years " +
                          scalar_text(Value(found.years_wanted)) + " --seed " + std::to_string(found.seed));
}

}  // namespace

VerdictWord word_for(EnduranceVerdict verdict) { return {word_of(verdict), hue_of(verdict)}; }

EnduranceFinding finding_of(const sim::Scenario& scenario, const sim::EnduranceResult& result,
                            const sim::EnduranceOutlook& outlook, std::uint64_t seed, double years_wanted) {
    EnduranceFinding found{scenario, result, outlook, seed, years_wanted, result.seconds / seconds_per_year, 0.0,
                           {},       0.0,    {},      {}};
    if (result.parts_done == 0) {
        found.verdict = EnduranceVerdict::stopped;
        return found;
    }
    const sim::Interval counts = sim::poisson_interval(result.spurious());
    found.per_year = static_cast<double>(result.spurious()) / found.years;
    found.interval = {counts.low / found.years, counts.high / found.years};
    // a link that nobody acknowledges stands, and cannot stop again: that must not make it look better
    const double running = std::max(result.seconds - result.seconds_stopped, 1.0) / seconds_per_year;
    found.per_running_year = static_cast<double>(result.spurious()) / running;
    found.running_interval = {counts.low / running, counts.high / running};
    const double limit = scenario.trip_limit.per_year;
    found.verdict = result.dangerous > 0                  ? EnduranceVerdict::dangerous
                    : !result.link_started                ? EnduranceVerdict::not_running
                    : found.per_running_year > limit      ? EnduranceVerdict::fail
                    : found.nothing_can_happen()          ? EnduranceVerdict::pass
                    : found.running_interval.high > limit ? EnduranceVerdict::undecided
                                                          : EnduranceVerdict::pass;
    return found;
}

Page page_of(const EnduranceFinding& finding, Columns columns) {
    Page page(columns);
    head(page, finding);
    if (finding.verdict != EnduranceVerdict::stopped && finding.verdict != EnduranceVerdict::not_running)
        figures(page, finding);
    return page;
}

Value describe(const EnduranceFinding& found) {
    const sim::EnduranceResult& result = found.result;
    const bool some = result.parts_done > 0;
    const bool jumps = result.method == sim::EnduranceMethod::jumps;
    const auto trips_at = [&](End end) { return result.trips[static_cast<std::size_t>(end)]; };
    const auto both = [&](auto of) {
        return Value::Object{{"controller", of(End::controller)}, {"device", of(End::device)}};
    };
    Value::Object rejected, by_controller, by_device;
    for (unsigned m = 0; m < proto::measure_count; ++m) {
        const std::string name(name_of(static_cast<Measure>(m)));
        rejected.push_back({name, result.rejected[0][m] + result.rejected[1][m]});
        by_controller.push_back({name, result.rejected[0][m]});
        by_device.push_back({name, result.rejected[1][m]});
    }
    Value::List dangerous;
    for (const sim::DangerousEvent& event : result.first_dangerous) dangerous.push_back(event.why);
    std::string verdict = word_of(found.verdict);
    for (char& letter : verdict) letter = static_cast<char>(letter - 'A' + 'a');
    return Value::Object{
        {"scenario", found.scenario.file},
        {"seed", found.seed},
        {"verdict", verdict},
        {"years", found.years},
        {"years_asked", found.years_wanted},
        {"cycles", result.cycles},
        {"method", jumps ? "jumps" : "event-loop"},
        {"why_event_loop", Value::text_or_null(found.outlook.why)},
        {"windows_simulated", jumps ? Value(result.windows) : Value()},
        {"cycles_in_full", result.cycles_in_full},
        {"spurious_trips", both([&](End end) { return Value(trips_at(end).all()); })},
        {"spurious_trips_by_watchdog", both([&](End end) { return Value(trips_at(end).by_watchdog); })},
        {"spurious_trips_by_rejection", both([&](End end) { return Value(trips_at(end).by_rejection); })},
        {"per_year", some ? Value(found.per_year) : Value()},
        {"low", some ? Value(found.interval.low) : Value()},
        {"high", some ? Value(found.interval.high) : Value()},
        {"per_running_year", some ? Value(found.per_running_year) : Value()},
        {"confidence", 0.95},
        {"allowed_per_year", found.scenario.trip_limit.per_year},
        {"allowed_stated", found.scenario.trip_limit.stated},
        {"rejected", std::move(rejected)},
        {"rejected_at", Value::Object{{"controller", std::move(by_controller)}, {"device", std::move(by_device)}}},
        {"acknowledgements", result.acknowledgements},
        {"share_stopped", some ? Value(result.seconds_stopped / result.seconds) : Value()},
        {"link_started", some ? Value(result.link_started) : Value()},
        {"dangerous", result.dangerous},
        {"dangerous_why", std::move(dangerous)},
        {"parts", result.parts_wanted},
        {"parts_finished", result.parts_done},
        {"digest", result.digest},
    };
}

}  // namespace tools
