#include "tools/run/run_page.hpp"

#include <algorithm>
#include <array>
#include <optional>
#include <string_view>
#include <utility>

#include "proto/parameters.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/timing/response.hpp"
#include "tools/text/distance_words.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using proto::Duration;
using sim::InjectionResult;
using sim::Outcome;

constexpr std::size_t figure_indent = 11;  // "Response   "

std::string safe_name(const std::string& name, std::string_view otherwise) {
    return name.empty() ? std::string(otherwise) : plain(name);
}

std::string title_of(const sim::Scenario& scenario, const sim::RunResult& result) {
    if (!result.scenario_title.empty()) return result.scenario_title;
    return safe_name(result.scenario_file, safe_name(scenario.title, "rehearsal"));
}

std::uint64_t count_if(const sim::RunResult& result, bool (*holds)(const InjectionResult&)) {
    return static_cast<std::uint64_t>(std::count_if(result.injections.begin(), result.injections.end(), holds));
}

bool is_dangerous(const InjectionResult& i) { return i.outcome == Outcome::dangerous; }

/// Until the machine stands, or where there is no machine until both ends hold their safe values.
std::optional<Duration> still_after(const InjectionResult& i) {
    if (i.standstill) return i.standstill;
    return std::nullopt;
}

std::optional<Duration> safe_after(const InjectionResult& i) {
    return std::max(i.safe_state_controller, i.safe_state_device);
}

// ---- the head ----

struct Head {
    std::string_view word;
    Hue hue;
};

Head head_of(sim::RunVerdict verdict) {
    switch (verdict) {
        case sim::RunVerdict::pass: return {"PASS", Hue::good};
        case sim::RunVerdict::fail: return {"FAIL", Hue::danger};
        case sim::RunVerdict::dangerous: return {"DANGEROUS", Hue::danger};
        case sim::RunVerdict::not_judged: return {"NOT JUDGED", Hue::caution};
    }
    return {"?", Hue::none};
}

std::string counts_of(const sim::RunResult& result) {
    const std::uint64_t fired =
        count_if(result, [](const InjectionResult& i) { return i.outcome != Outcome::not_fired; });
    const std::uint64_t not_fired = result.injections.size() - fired;
    const std::uint64_t expected = count_if(result, [](const InjectionResult& i) { return i.as_expected; });
    std::string out = grouped(fired) + " injected, ";
    if (not_fired > 0) out += grouped(not_fired) + " not fired, ";
    const std::uint64_t dangerous =
        std::max<std::uint64_t>(count_if(result, is_dangerous), result.dangerous.empty() ? 0 : 1);
    return out + grouped(expected) + " as expected, " + grouped(dangerous) + " dangerous.";
}

void head(Page& page, const sim::Scenario& scenario, const sim::RunResult& result) {
    const Head h = head_of(result.verdict);
    const std::string indent(h.word.size() + 2, ' ');
    const std::string title = title_of(scenario, result) + (result.live ? ", live" : "");
    if (result.verdict == sim::RunVerdict::not_judged) {
        page.headline(h.word, h.hue, title + ": this computer was too late to judge.");
        page.paragraph(indent, "A timer was " + in_ms(result.lateness.at(1.0), Rounding::up) +
                                   " late; with this watchdog at most " +
                                   in_ms(result.lateness_allowed, Rounding::down) + " can be allowed.");
        page.paragraph(indent, "Try --times-slower 5, an idle computer, or no --live.");
        return;
    }
    if (!result.link_started) {
        page.headline(h.word, h.hue, title + ": the link did not start.");
    } else {
        page.headline(h.word, h.hue, title + ": " + counts_of(result));
    }
    if (!result.as_expected)
        page.paragraph(indent, "This is not what the scenario expects: \"" + scenario.expect_verdict + "\".");
    else if (result.verdict == sim::RunVerdict::dangerous)
        page.paragraph(indent, "The scenario expects this, to show what its exchange cannot see.");
    else if (result.verdict != sim::RunVerdict::pass)
        page.paragraph(indent, "The scenario expects this.");
    if (!result.link_started) return;

    std::optional<Duration> longest;
    Duration allowed{proto::never.ns};
    bool limited = true;  // a fault that builds up, or comes and goes, has no limit to be held against
    for (const InjectionResult& i : result.injections) {
        longest = std::max(longest, still_after(i));
        if (i.allowed) allowed = std::min(allowed, *i.allowed);
        if (still_after(i) && !i.allowed) limited = false;
    }
    if (longest) {
        std::string text = "After a fault the " + safe_name(scenario.machine ? scenario.machine->name : "", "machine") +
                           " stood still within " + in_ms(*longest, Rounding::up) + " at most";
        text += limited ? "; " + in_ms(allowed, Rounding::down) + " are allowed." : ".";
        page.paragraph(indent, text);
    }
    page.paragraph(indent, "Rehearsed on a desk. It does not replace the measurements on the machine.");
}

// ---- the link ----

std::string carried(const proto::LinkSettings& link) {
    std::vector<std::string> in_bytes, in_crc;
    const auto sort_in = [&](const proto::Field& field, const char* name) {
        if (field.presence == proto::Presence::carried) in_bytes.emplace_back(name);
        if (field.presence == proto::Presence::implied) in_crc.emplace_back(name);
    };
    sort_in(link.profile.address, "address");
    sort_in(link.profile.sequence, "number");
    const auto joined = [](const std::vector<std::string>& names) {
        std::string out;
        for (const std::string& name : names) out += (out.empty() ? "" : " and ") + name;
        return out;
    };
    std::string out = link.profile.crc ? std::to_string(link.profile.crc->width) + "-bit CRC" : "no CRC";
    if (!in_bytes.empty()) out += ", " + joined(in_bytes) + " carried";
    if (!in_crc.empty()) out += ", " + joined(in_crc) + " implied in the CRC";
    return out;
}

std::string reaction_of(const proto::LinkSettings& link) {
    if (link.reaction == proto::Reaction::trip) return "a rejected telegram trips at once.";
    return "a rejected telegram is discarded, and the second within " + sim::written(link.error_interval) + " stops.";
}

void link(Page& page, const sim::Scenario& scenario) {
    const EndNames names = full_names(scenario);
    const proto::LinkSettings& c = scenario.controller.link;
    const proto::LinkSettings& d = scenario.device.link;
    std::string text = names.controller + " <-> " + names.device + ", ";
    text += c.exchange == proto::Exchange::polled ? "polled" : "streaming";
    text += ", cycle " + sim::written(c.cycle) + ", watchdog ";
    text += c.watchdog == d.watchdog ? sim::written(c.watchdog) + " at both ends"
                                     : sim::written(c.watchdog) + " and " + sim::written(d.watchdog);
    text += ", " + carried(c) + "; " + reaction_of(c);
    page.blank();
    page.paragraph("Link  ", text);
}

// ---- the rows ----

struct Row {
    std::string number, at, error, way, outcome, caught, after, still;
    Hue hue = Hue::none;
    std::vector<std::string> below;  ///< sentences under the row
};

Hue hue_of(Outcome outcome) {
    switch (outcome) {
        case Outcome::safe_state: return Hue::caution;
        case Outcome::tolerated:
        case Outcome::no_effect: return Hue::good;
        case Outcome::dangerous: return Hue::danger;
        case Outcome::not_fired: return Hue::caution;
    }
    return Hue::none;
}

std::string still_of(const InjectionResult& i, const sim::Scenario& scenario) {
    if (i.outcome == Outcome::not_fired) return "-";
    const std::optional<Duration> time = scenario.machine ? still_after(i) : safe_after(i);
    if (time) return in_ms(*time, Rounding::up);
    return i.outcome == Outcome::safe_state ? "-" : "ran on";
}

Row row_of(const InjectionResult& i, const sim::Scenario& scenario, const EndNames& names) {
    const sim::Fault* fault = i.fault < scenario.faults.size() ? &scenario.faults[i.fault] : nullptr;
    Row row;
    row.number = std::to_string(i.fault + 1);
    row.at = i.outcome == Outcome::not_fired ? "-" : in_s(i.at);
    row.error = plain(fault ? words_of(*fault, scenario) : std::string(name_of(i.error)));
    row.way = way_of(i);
    row.outcome = std::string(word_for(i.outcome));
    row.hue = hue_of(i.outcome);
    row.caught = plain(caught_by(i, names));
    row.after = i.detect ? in_tenths_of_ms(*i.detect, Rounding::up) : "-";
    row.still = still_of(i, scenario);

    const bool danger = i.outcome == Outcome::dangerous;
    if (!i.as_expected)
        row.below.push_back("Not as expected." + (i.expected.empty() ? "" : " Expected: " + i.expected));
    if (!i.within_limit && i.allowed)
        row.below.push_back("Over the allowed " + in_ms(*i.allowed, Rounding::down) + ".");
    if (!i.within_limit && !i.allowed) row.below.push_back("Over what is allowed.");
    if (i.latent)
        row.below.emplace_back("No effect yet, but part of the time allowed is used up, and nothing noticed.");
    if (!i.why.empty() && (danger || !i.as_expected || !i.within_limit || i.latent)) row.below.push_back(i.why);
    return row;
}

constexpr std::array<const char*, 8> titles{"#",       "at",        "error and place", "way",
                                            "outcome", "caught by", "after",           "still"};

struct Widths {
    std::size_t number = 2, at = 2, error = 0, way = 4, outcome = 7, caught = 9, after = 5, still = 5;
    static constexpr std::size_t gaps = 7 * 2;
    [[nodiscard]] std::size_t fixed() const { return number + at + way + outcome + after + still + gaps; }
};

Widths widths_for(const std::vector<Row>& rows, std::size_t columns) {
    Widths w;
    std::size_t caught = 9;
    for (const Row& row : rows) {
        w.number = std::max(w.number, row.number.size());
        w.at = std::max(w.at, row.at.size());
        w.outcome = std::max(w.outcome, row.outcome.size());
        w.after = std::max(w.after, row.after.size());
        w.still = std::max(w.still, row.still.size());
        caught = std::max(caught, row.caught.size());
    }
    // The two columns of words share what is left and wrap within it.
    const std::size_t room = columns > w.fixed() ? columns - w.fixed() : 0;
    w.caught = std::clamp<std::size_t>(caught, 9, std::max<std::size_t>(room * 2 / 5, 9));
    w.error = room > w.caught ? room - w.caught : 0;
    return w;
}

constexpr std::size_t least_words = 16;  // under that a column of words is no longer read

void wide_row(Page& page, const Row& row, const Widths& w) {
    const std::vector<std::string> error = wrapped(row.error, w.error);
    const std::vector<std::string> caught = wrapped(row.caught, w.caught);
    for (std::size_t i = 0; i < std::max(error.size(), caught.size()); ++i) {
        const auto once = [&](const std::string& text) { return i == 0 ? text : std::string(); };
        std::string text = right_aligned(once(row.number), w.number) + "  " + right_aligned(once(row.at), w.at) + "  " +
                           left_aligned(i < error.size() ? error[i] : "", w.error) + "  " +
                           left_aligned(once(row.way), w.way) + "  ";
        const std::size_t outcome_at = text.size();
        text += left_aligned(once(row.outcome), w.outcome) + "  " +
                left_aligned(i < caught.size() ? caught[i] : "", w.caught) + "  " +
                right_aligned(once(row.after), w.after) + "  " + right_aligned(once(row.still), w.still);
        if (i == 0)
            page.marked(std::move(text), outcome_at, row.outcome.size(), row.hue);
        else
            page.marked(std::move(text), 0, 0, Hue::none);
    }
}

/// First the error, then the outcome, for narrow terminals and for rows whose cells do not fit side by side.
void tall_row(Page& page, const Row& row, std::size_t number_width) {
    const std::string lead = right_aligned(row.number, number_width) + "  ";
    const std::string indent(lead.size(), ' ');
    page.paragraph(lead, row.at + "  " + row.error + "  " + row.way);
    const std::string rest = "  caught by: " + row.caught + ", after " + row.after + ", still " + row.still;
    const std::string line = indent + row.outcome + rest;
    if (line.size() <= page.columns().count) {
        page.marked(line, indent.size(), row.outcome.size(), row.hue);
    } else {
        page.marked(indent + row.outcome, indent.size(), row.outcome.size(), row.hue);
        page.paragraph(indent + "  ", rest.substr(2));
    }
}

void rows(Page& page, const sim::Scenario& scenario, const sim::RunResult& result) {
    if (result.injections.empty()) return;
    const EndNames names = short_names(scenario);
    std::vector<Row> all;
    for (const InjectionResult& i : result.injections)
        if (is_dangerous(i)) all.push_back(row_of(i, scenario, names));
    for (const InjectionResult& i : result.injections)
        if (!is_dangerous(i)) all.push_back(row_of(i, scenario, names));

    const Widths w = widths_for(all, page.columns().count);
    const bool wide = page.columns().wide() && w.error >= least_words && w.caught >= 9;
    page.blank();
    if (wide) {
        page.line(right_aligned(titles[0], w.number) + "  " + left_aligned(titles[1], w.at) + "  " +
                  left_aligned(titles[2], w.error) + "  " + left_aligned(titles[3], w.way) + "  " +
                  left_aligned(titles[4], w.outcome) + "  " + left_aligned(titles[5], w.caught) + "  " +
                  right_aligned(titles[6], w.after) + "  " +
                  right_aligned(scenario.machine ? titles[7] : "safe", w.still));
    }
    for (const Row& row : all) {
        if (wide)
            wide_row(page, row, w);
        else
            tall_row(page, row, w.number);
        for (const std::string& sentence : row.below) page.paragraph("    ", sentence);
    }
    const std::string until = scenario.machine
                                  ? "\"still\" until the " + safe_name(scenario.machine->name, "machine") + " stands"
                                  : std::string("\"safe\" until both ends hold their safe values");
    page.paragraph("    ", "C>D " + names.controller + " to " + names.device +
                               "; from the injection: \"after\" until caught, " + until);
}

// ---- a link that did not start ----

void not_started(Page& page, const sim::Scenario& scenario, const sim::RunResult& result) {
    const EndNames names = full_names(scenario);
    page.blank();
    const auto show = [&](const std::string& name, const sim::EndShown& end) {
        std::string text = std::string(word_for(end.state)) + "; ";
        if (end.refusal != proto::Refusal::none)
            text += "start refused: " + std::string(name_of(end.refusal)) + " differs; ";
        text += grouped(end.counters.sent) + " sent, " + grouped(end.counters.received) + " received, " +
                grouped(end.counters.ignored) + " ignored";
        for (unsigned i = 0; i < proto::measure_count; ++i) {
            const std::uint64_t rejected = end.counters.rejected[i];
            if (rejected > 0)
                text +=
                    ", " + grouped(rejected) + " rejected by " + std::string(word_for(static_cast<proto::Measure>(i)));
        }
        page.paragraph_at(4, "At the " + name + "  ", text + ".");
    };
    show(names.controller, result.controller);
    show(names.device, result.device);
    page.blank();
    page.paragraph("Try        ",
                   "linkdrill check " + shell_word(result.scenario_file) + "    (which settings differ, and the mend)");
}

// ---- figures ----

std::string percent(Duration part, Duration whole) {
    if (whole.ns <= 0) return "";
    const double share = static_cast<double>(part.ns) / static_cast<double>(whole.ns) * 100.0;
    if (share > 9999.0 || share < 0.0) return "";
    return " (" + std::to_string(static_cast<int>(share + 0.5)) + " %)";
}

std::string whole_mm_up(std::int64_t um) { return std::to_string((um + 999) / 1000) + " mm"; }

void figures(Page& page, const sim::Scenario& scenario, const sim::RunResult& result) {
    std::string response;
    const auto add = [&](const std::string& text) { response += (response.empty() ? "" : ", ") + text; };
    add(result.bound ? "bound " + in_ms(*result.bound, Rounding::down) : std::string("no bound can be computed"));
    if (result.worst_seen)
        add("worst seen " + in_ms(*result.worst_seen, Rounding::up) +
            (result.bound ? percent(*result.worst_seen, *result.bound) : ""));
    if (result.required) add("required " + in_ms(*result.required, Rounding::down));
    page.blank();
    page.paragraph("Response   ", "sampling to output command: " + response + ".");
    if (result.stopping) {
        std::string stopping = in_ms(*result.stopping, Rounding::up);
        if (result.stopping_um) stopping += " and " + whole_mm_up(*result.stopping_um);
        page.paragraph("Stopping   ", stopping + " from the output command until the " +
                                          safe_name(scenario.machine ? scenario.machine->name : "", "machine") +
                                          " stands.");
        std::optional<std::int64_t> farthest;
        for (const sim::DemandResult& demand : result.demands) farthest = std::max(farthest, demand.travelled_um);
        if (farthest) page.paragraph("Travelled  ", whole_mm_up(*farthest) + " at most from a demand until it stood.");
    }
    // A slowed run has other times than the plant.
    if (scenario.distance && result.time_scale == 1) {
        const auto distance = sim::distance_of(scenario, sim::response_of(scenario));
        page.paragraph("Distance   ", distance ? distance_line(scenario, *distance) + "."
                                               : std::string("no overall time can be reckoned: linkdrill response."));
    }
    if (result.live) {
        page.paragraph("Lateness   ", "of " + counted(result.lateness.sorted_ns.size(), "timer", "timers") +
                                          ": half within " + in_ms(result.lateness.at(0.5), Rounding::up) +
                                          ", 99 % within " + in_ms(result.lateness.at(0.99), Rounding::up) +
                                          ", the latest " + in_ms(result.lateness.at(1.0), Rounding::up) + "; " +
                                          in_ms(result.lateness_allowed, Rounding::down) + " are allowed.");
    }
    page.paragraph("No fault   ", "same scenario, faults off: " + counted(result.twin.cycles, "cycle", "cycles") +
                                      ", " + counted(result.twin.spurious_trips, "stop", "stops") + " for nothing.");
    std::string recovery = counted(result.stops, "stop", "stops") + ", " +
                           counted(result.acknowledgements, "acknowledgement", "acknowledgements") + " that counted";
    recovery += result.twin.recovered ? "; the link came back only when acknowledged, the machine only when started."
                                      : "; NOT AS IT SHOULD: " + result.twin.why_not + ".";
    if (result.stops == 0 && result.twin.recovered) recovery = "no stop, so there was nothing to recover from.";
    page.paragraph("Recovery   ", recovery);
}

void dangers(Page& page, const sim::RunResult& result) {
    // Those of an injection stand under its row.
    constexpr std::size_t shown = 5;
    std::vector<const sim::DangerousEvent*> alone;
    for (const sim::DangerousEvent& event : result.dangerous)
        if (!event.injection) alone.push_back(&event);
    if (alone.empty()) return;
    page.blank();
    page.line("Dangerous, not due to one injection:");
    for (std::size_t i = 0; i < std::min(shown, alone.size()); ++i)
        page.paragraph_at(16, "    " + right_aligned(in_s(alone[i]->at), 10) + "  ", alone[i]->why);
    if (alone.size() > shown) page.line("    and " + std::to_string(alone.size() - shown) + " more in result.json");
}

}  // namespace

Page page_of(const sim::Scenario& scenario, const sim::RunResult& result, const RunPageNotes& notes, Columns columns) {
    Page page(columns);
    head(page, scenario, result);
    link(page, scenario);
    if (!result.link_started)
        not_started(page, scenario, result);
    else
        rows(page, scenario, result);
    dangers(page, result);
    if (result.link_started) figures(page, scenario, result);
    for (const std::string& remark : result.remarks) page.paragraph_at(figure_indent, "Remark     ", remark);

    page.blank();
    if (!notes.folder.empty()) {
        std::string files = notes.folder + (notes.folder.back() == '/' ? " " : "/ ");
        for (const std::string& file : notes.files) files += " " + file;
        page.paragraph("Evidence   ", files);
        if (!notes.remark.empty()) page.paragraph("           ", notes.remark);
    }
    std::string repeat = "linkdrill run " + shell_word(result.scenario_file) + " --seed " + std::to_string(result.seed);
    if (result.live) repeat += " --live";
    if (result.time_scale != 1) repeat += " --times-slower " + std::to_string(result.time_scale);
    page.paragraph("Repeat     ", repeat);
    page.paragraph("           ", "linkdrill " LINKDRILL_VERSION "   trace fingerprint " + fingerprint(result.digest));
    return page;
}

}  // namespace tools
