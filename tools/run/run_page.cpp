#include "tools/run/run_page.hpp"

#include <algorithm>
#include <optional>
#include <string_view>
#include <utility>

#include "proto/parameters.hpp"
#include "sim/scenario/reach.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/studies/cross_check.hpp"
#include "tools/run/guard_rows.hpp"
#include "tools/run/run_page_parts.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using proto::Duration;
using sim::InjectionResult;
using sim::Outcome;

constexpr std::size_t figure_indent = 11;  // "Response   "

std::string title_of(const sim::Scenario& scenario, const sim::RunResult& result) {
    if (!result.scenario_title.empty()) return result.scenario_title;
    return safe_name(result.scenario_file, safe_name(scenario.title, "rehearsal"));
}

std::uint64_t count_if(const sim::RunResult& result, bool (*holds)(const InjectionResult&)) {
    return static_cast<std::uint64_t>(std::count_if(result.injections.begin(), result.injections.end(), holds));
}

// ---- the head ----

std::string counts_of(const sim::RunResult& result) {
    const std::uint64_t fired =
        count_if(result, [](const InjectionResult& i) { return i.outcome != Outcome::not_fired; });
    const std::uint64_t not_fired = result.injections.size() - fired;
    const std::uint64_t never_ran =
        count_if(result, [](const InjectionResult& i) { return i.outcome == Outcome::never_ran; });
    const std::uint64_t expected = count_if(result, [](const InjectionResult& i) { return i.as_expected; });
    std::string out = grouped(fired) + " injected, ";
    if (never_ran > 0) out += grouped(never_ran) + " while the link had not run, ";
    if (not_fired > 0) out += grouped(not_fired) + " not fired, ";
    const std::uint64_t dangerous =
        std::max<std::uint64_t>(count_if(result, is_dangerous), result.dangerous.empty() ? 0 : 1);
    return out + grouped(expected) + " as expected, " + grouped(dangerous) + " dangerous.";
}

/// The longest of one moment after all faults, and the least that is allowed for it.
struct Longest {
    std::optional<Duration> longest;
    Duration allowed{proto::never.ns};
    bool limited = true;  // a fault that builds up, or comes and goes, has no limit to be held against
    void add(Duration took, const std::optional<Duration>& most) {
        longest = std::max(longest, std::optional(took));
        if (most) allowed = std::min(allowed, *most);
        if (!most) limited = false;
    }
    [[nodiscard]] std::string words() const {
        return in_ms(*longest, Rounding::up) + " at most" +
               (limited ? "; " + in_ms(allowed, Rounding::down) + " are allowed." : ".");
    }
};

/// Two moments, each in its own words: stood, or only came down to reduced speed.
void after_faults(Page& page, const std::string& indent, const sim::Scenario& scenario, const sim::RunResult& result) {
    Longest stood, slowed;
    for (const InjectionResult& i : result.injections) {
        if (i.standstill) stood.add(*i.standstill, i.allowed);
        if (only_slowed(scenario, i)) slowed.add(*i.reduced, i.allowed);
    }
    const std::string machine = safe_name(scenario.machine ? scenario.machine->name : "", "machine");
    if (slowed.longest)
        page.paragraph(indent, "After a fault the " + machine + " " + std::string(with_name(machine, "was", "were")) +
                                   " down to " + speed_in_words(scenario.machine->reduced_speed_um_s) +
                                   " and ran on, within " + slowed.words());
    if (stood.longest) page.paragraph(indent, "After a fault the " + machine + " stood within " + stood.words());
}

void head(Page& page, const sim::Scenario& scenario, const sim::RunResult& result) {
    const VerdictShown h = shown(result.verdict);
    const std::string indent(h.word.size() + 2, ' ');
    const std::string title = title_of(scenario, result) + (result.live ? ", live" : "");
    if (result.verdict == sim::RunVerdict::not_judged) {
        if (result.lateness.at(1.0) <= result.lateness_allowed) {
            page.headline(h.word, h.hue, title + ": not all of it was recorded.");
            page.paragraph(indent, "A part was away for a while, or began late; the remarks say which and when.");
            return;
        }
        page.headline(h.word, h.hue, title + ": this computer was too late to judge.");
        page.paragraph(indent, "A timer was " + in_ms(result.lateness.at(1.0), Rounding::up) +
                                   " late; with this watchdog at most " +
                                   in_ms(result.lateness_allowed, Rounding::down) + " can be allowed.");
        page.paragraph(indent, "Try --times-slower 5, an idle computer, or no --live.");
        return;
    }
    if (!result.link_started) {
        page.headline(h.word, h.hue, title + ": the link never ran, so nothing about it was rehearsed.");
    } else if (link_only(scenario)) {
        page.limited_headline(h.word, h.hue, ", link only: nothing states what the guards must do");
        page.paragraph(indent, title + ": " + counts_of(result));
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

    after_faults(page, indent, scenario, result);
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

}  // namespace

VerdictShown shown(sim::RunVerdict verdict) {
    switch (verdict) {
        case sim::RunVerdict::pass: return {"PASS", Hue::good};
        case sim::RunVerdict::fail: return {"FAIL", Hue::danger};
        case sim::RunVerdict::dangerous: return {"DANGEROUS", Hue::danger};
        case sim::RunVerdict::not_judged: return {"NOT JUDGED", Hue::caution};
    }
    return {"?", Hue::none};
}

std::string link_in_words(const sim::Scenario& scenario) {
    const EndNames names = full_names(scenario);
    const proto::LinkSettings& c = scenario.controller.link;
    const proto::LinkSettings& d = scenario.device.link;
    std::string text = names.controller + " <-> " + names.device + ", ";
    text += c.exchange == proto::Exchange::polled ? "polled" : "streaming";
    text += ", cycle " + sim::written(c.cycle) + ", watchdog ";
    text += c.watchdog == d.watchdog ? sim::written(c.watchdog) + " at both ends"
                                     : sim::written(c.watchdog) + " and " + sim::written(d.watchdog);
    return text + ", " + carried(c) + "; " + reaction_of(c);
}

namespace {

// ---- a link that did not start ----

std::string kept_apart_in_words(const sim::KeptApart& apart, const EndNames& names) {
    std::string text = apart.setting + ": ";
    for (const auto& [value, name] : {std::pair{&apart.controller, &names.controller}, {&apart.device, &names.device}})
        if (!value->empty()) text += (text.ends_with(": ") ? "" : ", ") + (*value + " for " + *name);
    return text + "; " + apart.why + "; mend: " + apart.mend + ".";
}

}  // namespace

void not_started(Page& page, const sim::Scenario& scenario, const sim::RunResult& result) {
    const EndNames names = full_names(scenario);
    const auto kept_apart = sim::kept_apart(scenario);
    page.blank();
    const auto show = [&](const std::string& name, const sim::EndShown& end) {
        std::string text = std::string(word_for(end.state)) + "; ";
        if (kept_apart && end.counters.received == 0) text += "no answer since start; ";
        if (end.refusal != proto::Refusal::none)
            text += "start refused: " + refused_setting(end.refusal, names) + " differs; ";
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
    if (kept_apart) page.paragraph_at(4, "Kept apart by  ", kept_apart_in_words(*kept_apart, names));
    const bool refused = kept_apart || result.controller.refusal != proto::Refusal::none ||
                         result.device.refusal != proto::Refusal::none;
    const sim::CrossCheck ends = refused ? sim::CrossCheck{} : sim::cross_check(scenario);
    if (!ends.differences.empty()) {
        const sim::Difference& apart = ends.differences.front();
        page.paragraph_at(4, "Kept apart by  ",
                          apart.setting + ": " + apart.controller + " for " + names.controller + ", " + apart.device +
                              " for " + names.device + ", which no end can tell; " +
                              (apart.mend_at == sim::MendAt::design ? "" : "mend at ") + apart.mend + ".");
    }
    page.blank();
    page.paragraph("Try        ",
                   "linkdrill check " + shell_word(result.scenario_file) + "    (which settings differ, and the mend)");
}

namespace {

/// A row of the guards' table tells it already.
bool told_of_guard(const sim::Scenario& scenario, const sim::RunResult& result, const sim::DangerousEvent& event) {
    const std::vector<GuardRow> rows = guard_rows(result);
    return result.link_started && std::any_of(rows.begin(), rows.end(), [&](const GuardRow& row) {
               return row.demand->at == event.at && is_dangerous(scenario, row);
           });
}

void dangers(Page& page, const sim::Scenario& scenario, const sim::RunResult& result) {
    // Those of an injection stand under its row.
    constexpr std::size_t shown = 5;
    std::vector<const sim::DangerousEvent*> alone;
    for (const sim::DangerousEvent& event : result.dangerous)
        if (!event.injection && !told_of_guard(scenario, result, event)) alone.push_back(&event);
    if (alone.empty()) return;
    page.blank();
    page.line("Dangerous, not due to one injection:");
    for (std::size_t i = 0; i < std::min(shown, alone.size()); ++i)
        page.paragraph_at(16, "    " + right_aligned(in_s(alone[i]->at), 10) + "  ", alone[i]->why);
    if (alone.size() > shown) page.line("    and " + std::to_string(alone.size() - shown) + " more in result.json");
}

}  // namespace

std::string safe_name(const std::string& name, std::string_view otherwise) {
    return name.empty() ? std::string(otherwise) : plain(name);
}

Page page_of(const sim::Scenario& scenario, const sim::RunResult& result, const RunPageNotes& notes, Columns columns) {
    Page page(columns);
    head(page, scenario, result);
    page.blank();
    page.paragraph("Link  ", link_in_words(scenario));
    if (!result.link_started) {
        not_started(page, scenario, result);
        rows_on(page, scenario, result);
    } else {
        rows_on(page, scenario, result);
        guards_on(page, scenario, result);
    }
    dangers(page, scenario, result);
    if (result.link_started) figures_on(page, scenario, result);
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
