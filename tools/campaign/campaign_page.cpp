#include "tools/campaign/campaign_page.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "sim/numeric/share_interval.hpp"
#include "sim/scenario/scenario.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using sim::ErrorSummary;
using sim::Outcome;

constexpr std::size_t indent = 12;
constexpr std::size_t dangerous_shown = 8;

/// "1 in 33 381", rounded so that the share never looks smaller.
std::string one_in(double share) {
    if (share >= 0.5) return grouped(static_cast<std::uint64_t>(std::ceil(share * 100.0))) + " in 100";
    return "1 in " + grouped(static_cast<std::uint64_t>(1.0 / share));
}

std::string trials_of(const CampaignFinding& found) {
    const std::uint64_t done = found.summary.trials();
    if (done == found.wanted) return counted(done, "trial", "trials");
    return grouped(done) + " of " + grouped(found.wanted) + " trials";
}

/// Of a cell: what no trial showed is not to pass for kept.
void never_met(Page& page, const std::string& blank, const CampaignFinding& found) {
    if (!found.of_cell()) return;
    for (const sim::FunctionSummary& one : found.summary.functions())
        if (one.met == 0)
            page.paragraph(blank, "Not met once: \"" + plain(one.name) + "\", not met " + grouped(one.not_met) +
                                      ", not shown " + grouped(one.not_shown) + ". Nothing here says that it is kept.");
}

void head(Page& page, const CampaignFinding& found) {
    const sim::CampaignSummary& summary = found.summary;
    std::string title = plain(found.scenario.title);
    if (found.shards > 1) title += ", part " + std::to_string(found.shard) + " of " + std::to_string(found.shards);
    const std::uint64_t dangerous = summary.of(Outcome::dangerous);
    const std::string counts = title + ": " + trials_of(found) + ", " + grouped(dangerous) + " dangerous, " +
                               grouped(summary.late()) + " late.";
    std::string_view word = "PASS";
    switch (found.verdict()) {
        case CampaignVerdict::pass: page.headline(word, Hue::good, counts); break;
        case CampaignVerdict::fail: page.headline(word = "FAIL", Hue::danger, counts); break;
        case CampaignVerdict::dangerous: page.headline(word = "DANGEROUS", Hue::danger, counts); break;
        case CampaignVerdict::stopped: page.headline(word = "STOPPED", Hue::caution, counts); break;
        case CampaignVerdict::not_running:
            page.headline(word = "FAIL", Hue::danger, title + ": the link did not start in any trial.");
            break;
    }
    const std::string blank(word.size() + 2, ' ');
    if (found.verdict() == CampaignVerdict::not_running)
        return page.paragraph(blank, "Compare the two ends: linkdrill check " + shell_word(found.scenario.file));
    if (summary.trials() == 0) return;
    if (mostly_idle(summary))
        page.paragraph(blank, "In " + grouped(summary.trials() - summary.fired()) +
                                  " of them there was nothing to act on, most often because the link did not run: so "
                                  "few say nothing. Compare the two ends: linkdrill check " +
                                  shell_word(found.scenario.file));
    const double bound = sim::share_at_most(dangerous, summary.fired());
    const bool all_fired = summary.fired() == summary.trials();
    if (summary.fired() > 0)
        page.paragraph(blank, "With 95 % confidence at most " + one_in(bound) + " of " +
                                  (all_fired ? "such trials" : "the " + grouped(summary.fired()) + " that fired") +
                                  " is dangerous.");
    if (summary.late() > 0)
        page.paragraph(blank, "Late: the machine stood, or the output was safe, later than the bound allows.");
    if (summary.not_started() > 0)
        page.paragraph(blank, "In " + counted(summary.not_started(), "trial", "trials") + " the link never ran.");
    never_met(page, blank, found);
    page.paragraph(blank, "Simulated on a desk. It does not replace the measurements on the machine.");
}

/// A table whose first column is words and whose others are right-aligned.
void table(Page& page, const std::vector<std::vector<std::string>>& rows) {
    std::vector<std::size_t> widths(rows.front().size(), 0);
    for (const auto& row : rows)
        for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], row[i].size());
    for (const auto& row : rows) {
        std::string line = " " + left_aligned(row[0], widths[0]);
        for (std::size_t i = 1; i < row.size(); ++i) line += "  " + right_aligned(row[i], widths[i]);
        page.line(line);
    }
}

std::string error_name(const ErrorSummary& error) {
    std::string name = error.name;
    std::replace(name.begin(), name.end(), '-', ' ');
    return name;
}

std::string never_ran_of(std::uint64_t count) { return count == 0 ? "" : ", " + grouped(count) + " never ran"; }

/// Below the table, whose columns have no room for it.
void never_ran(Page& page, const sim::CampaignSummary& summary) {
    const std::uint64_t count = summary.of(Outcome::never_ran);
    if (count == 0) return;
    std::string which;
    for (const ErrorSummary& error : summary.errors())
        if (const std::uint64_t of_error = error.of(Outcome::never_ran); of_error != 0)
            which += (which.empty() ? "" : ", ") + error_name(error) + " " + grouped(of_error);
    page.paragraph("    ", "Never ran: " + counted(count, "trial", "trials") + " (" + which +
                               ") whose fault was over before the link first ran. Nothing about a running link was "
                               "tried in them, so they count for no share.");
}

void outcomes(Page& page, const sim::CampaignSummary& summary) {
    page.blank();
    if (!page.columns().wide()) {
        for (const ErrorSummary& error : summary.errors())
            page.paragraph_at(4, error_name(error) + "  ",
                              counted(error.trials, "trial", "trials") + ": " + grouped(error.of(Outcome::safe_state)) +
                                  " stopped, " + grouped(error.of(Outcome::tolerated)) + " tolerated, " +
                                  grouped(error.of(Outcome::no_effect)) + " no effect, " +
                                  grouped(error.of(Outcome::dangerous)) + " DANGEROUS, " +
                                  grouped(error.of(Outcome::not_fired)) + " not fired" +
                                  never_ran_of(error.of(Outcome::never_ran)));
        return;
    }
    std::vector<std::vector<std::string>> rows{
        {"error", "trials", "stopped", "tolerated", "no effect", "DANGEROUS", "not fired", "caught"}};
    for (const ErrorSummary& error : summary.errors())
        rows.push_back({error_name(error), grouped(error.trials), grouped(error.of(Outcome::safe_state)),
                        grouped(error.of(Outcome::tolerated)), grouped(error.of(Outcome::no_effect)),
                        grouped(error.of(Outcome::dangerous)), grouped(error.of(Outcome::not_fired)),
                        grouped(error.detected)});
    table(page, rows);
    never_ran(page, summary);
}

std::string link_name(const sim::LinkSummary& link) {
    return link.name.empty() ? "controller, in all links" : plain(link.name);
}

/// Of a cell: what became of the trials whose fault struck each link.
void by_link(Page& page, const sim::CampaignSummary& summary) {
    page.blank();
    if (page.columns().wide()) {
        std::vector<std::vector<std::string>> rows{
            {"struck link", "trials", "stopped", "tolerated", "no effect", "DANGEROUS", "not fired", "late"}};
        for (const sim::LinkSummary& link : summary.links())
            rows.push_back({link_name(link), grouped(link.trials), grouped(link.of(Outcome::safe_state)),
                            grouped(link.of(Outcome::tolerated)), grouped(link.of(Outcome::no_effect)),
                            grouped(link.of(Outcome::dangerous)), grouped(link.of(Outcome::not_fired)),
                            grouped(link.late)});
        table(page, rows);
    } else {
        for (const sim::LinkSummary& link : summary.links())
            page.paragraph_at(4, link_name(link) + "  ",
                              counted(link.trials, "trial", "trials") + ": " + grouped(link.of(Outcome::safe_state)) +
                                  " stopped, " + grouped(link.of(Outcome::dangerous)) + " DANGEROUS, " +
                                  grouped(link.late) + " late" + never_ran_of(link.of(Outcome::never_ran)));
    }
    page.paragraph("    ",
                   "Each trial starts the whole cell. Judged are all its links, a demand over every link of its way, "
                   "and each machine that hangs on the struck link, by what becomes of it: one that does not stop "
                   "counts as dangerous. One fault a trial; two links that fail at once are not tried.");
    for (const sim::LinkSummary& link : summary.links())
        if (link.trials == 0 && summary.trials() > 0)
            page.paragraph("    ", "No trial struck " + link_name(link) +
                                       ": no fault is written for it, or too few trials were run.");
}

void first_measures(Page& page, const sim::CampaignSummary& summary) {
    page.blank();
    bool first = true;
    for (const ErrorSummary& error : summary.errors()) {
        std::string by;
        for (unsigned m = 0; m < proto::measure_count; ++m)
            if (error.first_measure[m] > 0)
                by += (by.empty() ? "" : ", ") + std::string(word_for(static_cast<proto::Measure>(m))) + " " +
                      grouped(error.first_measure[m]);
        page.paragraph_at(indent + 2, first ? "Caught by   " : "            ",
                          error_name(error) + ": " + (by.empty() ? "nothing" : by));
        first = false;
    }
}

/// Half, 99 % and all of them.
std::array<std::string, 3> three_of(sim::Distribution& times) {
    const auto points = times.points();
    if (!points) return {"-", "-", "-"};
    return {in_tenths_of_ms(points->median, Rounding::up), in_tenths_of_ms(points->p99, Rounding::up),
            in_tenths_of_ms(points->max, Rounding::up)};
}

struct ReactionRow {
    std::string error;
    std::array<std::string, 3> caught, ended;
    std::string allowed;
};

void reaction_rows(Page& page, const std::vector<ReactionRow>& rows, const std::string& end) {
    page.blank();
    if (!page.columns().wide()) {
        const auto joined = [](const std::array<std::string, 3>& of) { return of[0] + ", " + of[1] + ", " + of[2]; };
        page.line("From the injection (half, 99 %, last):");
        for (const ReactionRow& row : rows)
            page.paragraph_at(
                4, row.error + "  ",
                "caught " + joined(row.caught) + "; " + end + " " + joined(row.ended) + "; allowed " + row.allowed);
        return;
    }
    std::vector<std::vector<std::string>> cells{
        {"from the injection", "caught: half", "99 %", "last", end + ": half", "99 %", "last", "allowed"}};
    for (const ReactionRow& row : rows)
        cells.push_back({row.error, row.caught[0], row.caught[1], row.caught[2], row.ended[0], row.ended[1],
                         row.ended[2], row.allowed});
    table(page, cells);
}

void reactions(Page& page, CampaignFinding found) {
    const bool machine = found.scenario.machine.has_value();
    std::vector<ReactionRow> rows;
    std::uint64_t without = 0;
    for (ErrorSummary& error : found.summary.errors()) {
        rows.push_back({error_name(error), three_of(error.detect),
                        three_of(machine ? error.standstill : error.safe_state),
                        error.allowed ? in_tenths_of_ms(*error.allowed, Rounding::down) : "-"});
        without += error.without_bound.count();
    }
    reaction_rows(page, rows, machine ? "stands" : "safe");
    std::string note =
        "Half of those that were caught, or stopped, did so within the first time, 99 % within the "
        "second, all within the third. Allowed: the longest bound of any trial; each is held against "
        "its own.";
    if (without > 0)
        note += " Left out beside it: " + counted(without, "stop", "stops") +
                " without a bound, since what builds up or comes again strikes when it likes.";
    if (found.summary.of(Outcome::not_fired) > 0)
        note += " Not fired: there was nothing to act on, such as no telegram in that time.";
    page.paragraph("    ", note);
}

/// What the demands drawn around the faults showed of each function.
void functions(Page& page, const CampaignFinding& found) {
    const std::vector<sim::FunctionSummary>& all = found.summary.functions();
    page.blank();
    if (all.empty())
        return page.paragraph_at(indent, "Functions   ",
                                 "nothing states what the guards must do: their demands are judged up to the output.");
    bool first = true, mixed = false;
    for (const sim::FunctionSummary& one : all) {
        mixed = mixed || one.times_mixed;
        std::string text = "\"" + plain(one.name) + "\": met " + grouped(one.met) + ", ";
        text += (one.not_met > 0 ? "NOT MET " : "not met ") + grouped(one.not_met) + ", not shown " +
                grouped(one.not_shown);
        if (one.worst) text += "; slowest " + in_tenths_of_ms(*one.worst, Rounding::up) + " after the demand";
        page.paragraph_at(indent + 2, first ? "Functions   " : "            ", text + ".");
        first = false;
    }
    if (mixed)
        page.paragraph_at(
            indent, "            ",
            "No slowest time where a guard stops machines of several functions: a trial keeps the time of "
            "the slowest machine alone. Met or not is judged of each.");
    page.paragraph_at(
        indent, "            ",
        "One demand a trial, in every second one. Not shown: the machine stood, the link had stopped, or "
        "another stop was under way. A stop under way at the end of a trial is followed to its end by the "
        "machine's figures.");
}

void dangerous(Page& page, const CampaignFinding& found) {
    const std::vector<sim::DangerousTrial>& all = found.summary.dangerous();
    if (all.empty()) return;
    page.blank();
    for (std::size_t i = 0; i < std::min(all.size(), dangerous_shown); ++i) {
        const std::string where = found.of_cell() ? ", " + link_name(found.link_of(all[i].fault)) : "";
        page.paragraph_at(indent, i == 0 ? "Dangerous   " : "            ",
                          "trial " + std::to_string(all[i].trial) + where + ", " +
                              error_name(found.summary.error_of(all[i].fault)) + ": " + plain(all[i].why));
        page.paragraph_at(indent, "            ", repeat_command(found, all[i].trial));
    }
    const std::uint64_t count = found.summary.of(Outcome::dangerous);
    if (count > dangerous_shown)
        page.paragraph_at(
            indent, "            ",
            "and " + grouped(count - dangerous_shown) +
                " more: " + (count > all.size() ? "the first " + grouped(all.size()) : std::string("all of them")) +
                " with --json and with --out, all in the table \"dangerous\" of a store that keeps rows.");
}

void figures(Page& page, const CampaignFinding& found) {
    const sim::CampaignSummary& summary = found.summary;
    page.blank();
    page.paragraph_at(indent, "Trials      ",
                      grouped(summary.demands()) + " with a demand on a safeguard around the fault, " +
                          grouped(summary.starting()) + " with the fault in the start of the link; " +
                          grouped(summary.cycles()) + " cycles in full." +
                          (found.scenario.faults.front().where.line == 0
                               ? " The scenario names no fault: each of the eight communication errors was tried."
                               : ""));
    if (summary.spurious() > 0)
        page.paragraph_at(indent, "            ",
                          counted(summary.spurious(), "stop", "stops") +
                              " for nothing, by the channel's own losses and delays: not judged here.");
    std::string again = "linkdrill campaign " + file_and_link(found.scenario) + " --trials " +
                        std::to_string(found.trials) + " --seed " + std::to_string(found.seed);
    if (found.shards > 1) again += " --shard " + std::to_string(found.shard) + "/" + std::to_string(found.shards);
    page.paragraph_at(indent, "Repeat      ", again);
    page.paragraph_at(indent, "            ",
                      "linkdrill " LINKDRILL_VERSION "   fingerprint of all trials " + fingerprint(summary.digest()));
}

}  // namespace

Page page_of(const CampaignFinding& found, Columns columns) {
    Page page(columns);
    head(page, found);
    if (found.summary.trials() == 0 || found.verdict() == CampaignVerdict::not_running) return page;
    dangerous(page, found);
    outcomes(page, found.summary);
    if (found.of_cell()) by_link(page, found.summary);
    first_measures(page, found.summary);
    reactions(page, found);
    functions(page, found);
    figures(page, found);
    return page;
}

}  // namespace tools
