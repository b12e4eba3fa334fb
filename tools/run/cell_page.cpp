#include "tools/run/cell_page.hpp"

#include <algorithm>
#include <string>

#include "tools/run/cell_document.hpp"
#include "tools/run/describe_live.hpp"
#include "tools/run/guard_rows.hpp"
#include "tools/run/merged_cell.hpp"
#include "tools/run/run_page_parts.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using sim::CellResult;
using sim::WholeCell;

constexpr std::size_t indent_of_labels = 11;  // "Remark     "

std::string in_words(const CellCounts& counts) {
    std::string out = grouped(counts.injected) + " injected, ";
    if (counts.not_fired != 0) out += grouped(counts.not_fired) + " not fired, ";
    return out + grouped(counts.as_expected) + " as expected, " + grouped(counts.dangerous) + " dangerous.";
}

/// Only a live run may come to that.
void not_judged(Page& page, const VerdictShown& verdict, const std::string& title, const CellResult& result) {
    const std::string indent(verdict.word.size() + 2, ' ');
    if (result.lateness.at(1.0) <= result.lateness_allowed) {
        page.headline(verdict.word, verdict.hue, title + ": not all of it was recorded.");
        page.paragraph(indent, "A part was away for a while, or began late; the remarks say which and when.");
        return;
    }
    page.headline(verdict.word, verdict.hue, title + ": this computer was too late to judge.");
    page.paragraph(indent, "A timer was " + in_ms(result.lateness.at(1.0), Rounding::up) +
                               " late; with these watchdogs at most " + in_ms(result.lateness_allowed, Rounding::down) +
                               " can be allowed.");
    page.paragraph(indent, "Try --times-slower 5, an idle computer, or no --live.");
}

void head_on(Page& page, const WholeCell& cell, const CellResult& result, const MergedCell& all) {
    const VerdictShown verdict = shown(result.verdict);
    const std::string indent(verdict.word.size() + 2, ' ');
    const std::string title = plain(cell.title) + (result.live ? ", live" : "");
    if (result.verdict == sim::RunVerdict::not_judged) return not_judged(page, verdict, title, result);
    const std::string text = title + ": " + in_words(counts_of(cell, result));
    if (link_only(all.scenario)) {
        page.limited_headline(verdict.word, verdict.hue, ", links only: nothing states what the guards must do");
        page.paragraph(indent, text);
    } else {
        page.headline(verdict.word, verdict.hue, text);
    }
    if (!result.as_expected)
        page.paragraph(indent, "This is not what the scenario expects: \"" + plain(cell.expect_verdict) + "\".");
    else if (result.verdict != sim::RunVerdict::pass)
        page.paragraph(indent, "The scenario expects this.");
    page.paragraph(indent, "Rehearsed on a desk. It does not replace the measurements on the machine.");
}

void lateness_on(Page& page, const CellResult& result) {
    if (!result.live) return;
    page.paragraph("Lateness   ", lateness_in_words(result.lateness, result.lateness_allowed));
}

/// Under a link's rows: the machines of other links that it stopped, and by when.
void far_stops_on(Page& page, const WholeCell& cell, const CellResult& result, std::size_t link) {
    for (const sim::FarStop& stop : result.far_stops) {
        if (stop.link != link || !stop.moved) continue;
        const std::string machine = plain(cell.links[stop.machine_link].alone.machine->name);
        const std::string number =
            "    " + std::to_string(result.links[link].injections[stop.injection].fault + 1) + "  ";
        std::string text = machine + " (link " + plain(cell.links[stop.machine_link].name) + ") ";
        if (stop.standstill)
            text += "stood after " + in_ms(*stop.standstill, Rounding::up);
        else if (stop.reduced)
            text += "was down to its reduced speed after " + in_ms(*stop.reduced, Rounding::up);
        else if (stop.stopping)
            text += "was stopping already";
        else
            text += "ran on";
        if (stop.allowed) text += "; " + in_ms(*stop.allowed, Rounding::down) + " are allowed";
        if (!stop.within_limit) text += ". TOO LATE: " + stop.why;
        page.paragraph_at(number.size(), number, text + ".");
    }
}

void figures_of_link(Page& page, const sim::Scenario& scenario, const CellResult& result, std::size_t i) {
    const sim::RunResult& link = result.links[i];
    std::string text = counted(link.stops, "stop", "stops") + ", " + grouped(link.spurious_trips) + " for nothing";
    if (link.worst_seen) text += "; the oldest value used was " + in_ms(*link.worst_seen, Rounding::up);
    if (link.bound) text += " of " + in_ms(*link.bound, Rounding::down) + " by the settings";
    if (link.required) text += ", " + in_ms(*link.required, Rounding::down) + " required";
    page.paragraph_at(4, "    ", text + ".");
    if (link.live) page.paragraph_at(4, "    ", "The network " + network_in_words(scenario, link.network));
    for (const sim::DangerousEvent& event : link.dangerous)
        if (!event.injection) page.paragraph_at(4, "    ", "DANGEROUS at " + in_s(event.at) + ": " + event.why);
}

void links_on(Page& page, const WholeCell& cell, const CellResult& result) {
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        page.blank();
        page.paragraph_at(6, "Link " + plain(cell.links[i].name) + "  ", link_in_words(cell.links[i].alone));
        if (!result.links[i].link_started) {
            not_started(page, cell.links[i].alone, result.links[i]);
            page.paragraph_at(4, "    ", "This link never ran: nothing about it was rehearsed.");
            rows_on(page, cell.links[i].alone, result.links[i]);
            continue;
        }
        figures_of_link(page, cell.links[i].alone, result, i);
        rows_on(page, cell.links[i].alone, result.links[i]);
        far_stops_on(page, cell, result, i);
    }
}

}  // namespace

Page page_of(const WholeCell& cell, const CellResult& result, const RunPageNotes& notes, Columns columns) {
    Page page(columns);
    const MergedCell all = merged(cell, result);
    head_on(page, cell, result, all);
    guards_on(page, all.scenario, all.result);
    links_on(page, cell, result);
    page.blank();
    lateness_on(page, result);
    for (const std::string& remark : result.remarks) page.paragraph_at(indent_of_labels, "Remark     ", remark);
    if (!notes.folder.empty()) {
        std::string files = notes.folder + (notes.folder.back() == '/' ? " " : "/ ");
        for (const std::string& file : notes.files) files += " " + file;
        page.paragraph("Evidence   ", files);
        if (!notes.remark.empty()) page.paragraph("           ", notes.remark);
    }
    page.paragraph("Repeat     ",
                   "linkdrill run " + shell_word(cell.file) + " --seed " + std::to_string(result.seed) +
                       (result.live ? " --live" : "") +
                       (result.time_scale != 1 ? " --times-slower " + std::to_string(result.time_scale) : ""));
    page.paragraph("           ", "linkdrill " LINKDRILL_VERSION "   trace fingerprint " + fingerprint(result.digest));
    return page;
}

}  // namespace tools
