#include "tools/run/cell_page.hpp"

#include <algorithm>
#include <set>
#include <string>

#include "tools/run/guard_rows.hpp"
#include "tools/run/merged_cell.hpp"
#include "tools/run/run_page_parts.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using sim::CellResult;
using sim::InjectionResult;
using sim::WholeCell;

constexpr std::size_t indent_of_labels = 11;  // "Remark     "

/// A fault of the controller strikes every link and is one all the same.
struct Counts {
    std::set<std::string> injected, not_fired, unexpected, dangerous;  ///< keys of their faults
};

Counts counts_of(const WholeCell& cell, const CellResult& result) {
    Counts counts;
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        for (const InjectionResult& one : result.links[i].injections) {
            const std::string& key = cell.links[i].alone.faults[one.fault].where.key;
            (one.outcome == sim::Outcome::not_fired ? counts.not_fired : counts.injected).insert(key);
            if (!one.as_expected) counts.unexpected.insert(key);
            if (is_dangerous(one)) counts.dangerous.insert(key);
        }
    return counts;
}

std::string in_words(const Counts& counts, bool dangerous) {
    std::string out = grouped(counts.injected.size()) + " injected, ";
    if (!counts.not_fired.empty()) out += grouped(counts.not_fired.size()) + " not fired, ";
    const std::size_t all = counts.injected.size() + counts.not_fired.size();
    out += grouped(all - counts.unexpected.size()) + " as expected, ";
    return out + grouped(std::max<std::size_t>(counts.dangerous.size(), dangerous ? 1 : 0)) + " dangerous.";
}

void head_on(Page& page, const WholeCell& cell, const CellResult& result, const MergedCell& all) {
    const VerdictShown verdict = shown(result.verdict);
    const std::string indent(verdict.word.size() + 2, ' ');
    const bool dangerous = result.verdict == sim::RunVerdict::dangerous;
    const std::string text = plain(cell.title) + ": " + in_words(counts_of(cell, result), dangerous);
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

void figures_of_link(Page& page, const CellResult& result, std::size_t i) {
    const sim::RunResult& link = result.links[i];
    std::string text = counted(link.stops, "stop", "stops") + ", " + grouped(link.spurious_trips) + " for nothing";
    if (link.worst_seen) text += "; the oldest value used was " + in_ms(*link.worst_seen, Rounding::up);
    if (link.bound) text += " of " + in_ms(*link.bound, Rounding::down) + " by the settings";
    if (link.required) text += ", " + in_ms(*link.required, Rounding::down) + " required";
    page.paragraph_at(4, "    ", text + ".");
    for (const sim::DangerousEvent& event : link.dangerous)
        if (!event.injection) page.paragraph_at(4, "    ", "DANGEROUS at " + in_s(event.at) + ": " + event.why);
}

void links_on(Page& page, const WholeCell& cell, const CellResult& result) {
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        page.blank();
        page.paragraph_at(6, "Link " + plain(cell.links[i].name) + "  ", link_in_words(cell.links[i].alone));
        if (!result.links[i].link_started) {
            not_started(page, cell.links[i].alone, result.links[i]);
            continue;
        }
        figures_of_link(page, result, i);
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
    for (const std::string& remark : result.remarks) page.paragraph_at(indent_of_labels, "Remark     ", remark);
    if (!notes.folder.empty()) {
        std::string files = notes.folder + (notes.folder.back() == '/' ? " " : "/ ");
        for (const std::string& file : notes.files) files += " " + file;
        page.paragraph("Evidence   ", files);
    }
    page.paragraph("Repeat     ", "linkdrill run " + shell_word(cell.file) + " --seed " + std::to_string(result.seed));
    page.paragraph("           ", "linkdrill " LINKDRILL_VERSION "   trace fingerprint " + fingerprint(result.digest));
    return page;
}

}  // namespace tools
