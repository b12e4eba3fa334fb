#include "tools/measures/measures_page.hpp"

#include <algorithm>
#include <array>
#include <optional>
#include <string_view>
#include <vector>

#include "sim/scenario/errors.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using proto::Exchange;
using proto::Measure;
using sim::CoverCell;
using sim::ErrorKind;
using sim::MeasureCell;

/// In the order of IEC 61784-3.
constexpr std::array measures{Measure::sequence,       Measure::time_stamp,         Measure::time_expectation,
                              Measure::authentication, Measure::feedback,           Measure::integrity,
                              Measure::cross_check,    Measure::different_integrity};
constexpr std::size_t error_width = 19;
constexpr std::size_t cell_width = 10;
constexpr std::size_t name_width = 38;  // "without number: incorrect sequence"

std::string_view head_of(Measure measure) {
    switch (measure) {
        case Measure::time_stamp: return "stamp";
        case Measure::feedback: return "fed back";
        case Measure::cross_check: return "2nd copy";
        case Measure::different_integrity: return "other CRC";
        default: return word_for(measure);
    }
}

std::string word_of(ErrorKind error) {
    std::string name(name_of(error));
    std::replace(name.begin(), name.end(), '-', ' ');
    return name;
}

/// "all", "33/100", "none".
std::string share_of(unsigned detected, unsigned trials) {
    if (detected == 0 || detected == trials) return std::string(caught_of(detected, trials));
    return std::to_string(detected) + "/" + std::to_string(trials);
}

/// The trials draw a copy from exactly one round of numbers ago on purpose, so its share in them says nothing.
bool all_but_after_a_round(const MeasureCell& cell) {
    bool missed_a_round = false;
    for (const sim::ErrorFinding::OfWay& of_way : cell.ways) {
        const bool all = of_way.tally.by(cell.measure) == of_way.tally.trials;
        const bool round = of_way.way.from == sim::StudyWay::From::one_round_ago;
        if (!all && !round) return false;
        missed_a_round = missed_a_round || !all;
    }
    return missed_a_round;
}

std::string in_cell(const MeasureCell& cell) {
    if (all_but_after_a_round(cell)) return "all but *";
    std::string text = share_of(cell.detected, cell.trials);
    if (text.size() + 3 > cell_width) text = std::to_string(100ULL * cell.detected / cell.trials) + " %";
    return cell.needs_reason ? text + " *" : text;
}

/// "Y/N/-" in the order of the sources.
std::string marks_of(const MeasureCell& cell) {
    std::string text;
    for (const std::optional<bool>& mark : cell.published)
        text += (text.empty() ? "" : "/") + std::string(!mark ? "-" : *mark ? "Y" : "N");
    return text;
}

/// The cells of one exchange as rows of errors and columns of measures.
struct Matrix {
    std::vector<const MeasureCell*> cells;
    std::vector<Measure> columns;

    Matrix(const sim::MeasuresFound& found, Exchange exchange) {
        for (const MeasureCell& cell : found.cells)
            if (cell.exchange == exchange) cells.push_back(&cell);
        for (const Measure measure : measures)
            if (std::any_of(cells.begin(), cells.end(), [&](const MeasureCell* c) { return c->measure == measure; }))
                columns.push_back(measure);
    }
    [[nodiscard]] const MeasureCell* at(ErrorKind error, Measure measure) const {
        for (const MeasureCell* cell : cells)
            if (cell->error == error && cell->measure == measure) return cell;
        return nullptr;
    }
};

/// Whoever forges with another CRC is seen by other measures than who knows none: a row for each.
void by_forger(Page& page, const Matrix& matrix, bool fits) {
    const MeasureCell* const any = matrix.at(ErrorKind::masquerade, matrix.columns.front());
    for (std::size_t way = 0; any != nullptr && way < any->ways.size(); ++way) {
        std::string row, list;
        for (const Measure measure : matrix.columns) {
            const MeasureCell* const cell = matrix.at(ErrorKind::masquerade, measure);
            if (cell == nullptr || way >= cell->ways.size()) continue;
            const sim::Tally& tally = cell->ways[way].tally;
            const std::string share = share_of(tally.by(measure), tally.trials);
            row += left_aligned(share, cell_width);
            list += (list.empty() ? "" : ", ") + std::string(head_of(measure)) + " " + share;
        }
        const bool another = any->ways[way].way.way == sim::FaultWay::other_crc;
        const std::string lead = left_aligned(another ? "  with another CRC" : "  without a CRC", error_width);
        if (fits)
            page.line(lead + row);
        else
            page.paragraph(lead, list);
    }
}

enum class Forgers : std::uint8_t { together, apart };

void table(Page& page, const Matrix& matrix, std::string (*shown)(const MeasureCell&), Forgers forgers) {
    const bool fits = error_width + matrix.columns.size() * cell_width <= page.columns().count;
    if (fits) {
        std::string line(error_width, ' ');
        for (const Measure measure : matrix.columns) line += left_aligned(std::string(head_of(measure)), cell_width);
        page.line(line);
    }
    for (const ErrorKind error : sim::study_errors) {
        std::string row, list;
        for (const Measure measure : matrix.columns) {
            const MeasureCell* cell = matrix.at(error, measure);
            if (cell == nullptr) continue;
            row += left_aligned(shown(*cell), cell_width);
            list += (list.empty() ? "" : ", ") + std::string(head_of(measure)) + " " + shown(*cell);
        }
        const std::string lead = left_aligned(word_of(error), error_width);
        if (fits)
            page.line(lead + row);
        else
            page.paragraph(lead, list);
        if (forgers == Forgers::apart && error == ErrorKind::masquerade) by_forger(page, matrix, fits);
    }
}

/// Lines under each other that have the same reason, and then the reason.
class ByReason {
  public:
    void add(std::string line, const std::string& why) {
        auto known = std::find_if(groups_.begin(), groups_.end(), [&](const Group& g) { return g.why == why; });
        if (known == groups_.end()) known = groups_.insert(groups_.end(), Group{why, {}});
        known->lines.push_back(std::move(line));
    }
    [[nodiscard]] bool empty() const { return groups_.empty(); }
    void print(Page& page) const {
        for (const Group& group : groups_) {
            for (const std::string& line : group.lines) page.paragraph("  ", line);
            page.paragraph("      ", group.why.empty() ? "UNEXPLAINED; please report it" : group.why);
        }
    }

  private:
    struct Group {
        std::string why;
        std::vector<std::string> lines;
    };
    std::vector<Group> groups_;
};

void differences(Page& page, const Matrix& matrix) {
    ByReason differing;
    for (const MeasureCell* cell : matrix.cells) {
        if (!cell->needs_reason) continue;
        const std::string name = word_of(cell->error) + ", " + std::string(head_of(cell->measure));
        differing.add(left_aligned(name, name_width) +
                          left_aligned(all_but_after_a_round(*cell) ? "all but after exactly one round  "
                                                                    : share_of(cell->detected, cell->trials),
                                       13) +
                          "published " + marks_of(*cell),
                      cell->why);
    }
    if (differing.empty()) return;
    page.blank();
    page.line("* differs from a table, or sees some only");
    differing.print(page);
}

std::string gap_of(const CoverCell& cell) {
    const sim::Tally& tally = cell.tally;
    const std::string of = "/" + std::to_string(tally.trials);
    std::string text;
    if (tally.missed != 0) text = std::to_string(tally.missed) + of + " seen by nobody, and dangerous";
    if (tally.late != 0) text += (text.empty() ? "" : ", ") + std::to_string(tally.late) + of + " seen too late";
    return text;
}

/// What gets through a link with all its measures.
void through_whole(Page& page, const std::vector<CoverCell>& whole, Exchange exchange) {
    ByReason gaps;
    for (const CoverCell& cell : whole)
        if (cell.exchange == exchange && !cell.covered())
            gaps.add(left_aligned("with all: " + word_of(cell.error), name_width) + gap_of(cell), cell.why);
    if (gaps.empty())
        page.line("  " + left_aligned("with all", name_width) + "every error is seen, or is without danger");
    gaps.print(page);
}

/// What gets through besides without each of them.
void through_without(Page& page, const sim::MeasuresFound& found, Exchange exchange) {
    const auto no_worse = [&](const CoverCell& cell) {
        for (const CoverCell& whole : found.whole)
            if (whole.exchange == exchange && whole.error == cell.error)
                return cell.tally.missed <= whole.tally.missed && cell.tally.late <= whole.tally.late;
        return false;
    };
    ByReason gaps;
    std::string nothing;
    for (const Measure measure : measures) {
        bool there = false, gap = false;
        for (const CoverCell& cell : found.without) {
            if (cell.exchange != exchange || cell.without != measure) continue;
            there = true;
            if (no_worse(cell)) continue;
            gap = true;
            const std::string name = "without " + std::string(head_of(measure)) + ": " + word_of(cell.error);
            gaps.add(left_aligned(name, name_width) + gap_of(cell), cell.why);
        }
        if (there && !gap) nothing += (nothing.empty() ? "" : ", ") + std::string(head_of(measure));
    }
    gaps.print(page);
    if (!nothing.empty())
        page.paragraph("  " + left_aligned("without one of", name_width), nothing + ": nothing more gets through");
}

/// Whether what was seen was seen by what Table 2 says.
void against_table_2(Page& page, const std::vector<CoverCell>& whole) {
    std::string others;
    for (const CoverCell& cell : whole)
        if (cell.exchange == Exchange::polled && cell.tally.as_in_table_2 != cell.tally.seen_by_any)
            others += (others.empty() ? "" : ", ") + std::to_string(cell.tally.seen_by_any - cell.tally.as_in_table_2) +
                      " of " + word_of(cell.error);
    page.paragraph("Table 2    ",
                   "whatever was seen was seen by a measure that IEC 62541-15 marks for the error" +
                       (others.empty() ? std::string(".") : ", but " + others + " by others: see above."));
}

std::size_t count_of(const std::vector<MeasureCell>& cells, bool (*so)(const MeasureCell&)) {
    return static_cast<std::size_t>(std::count_if(cells.begin(), cells.end(), so));
}

void head(Page& page, const MeasuresFinding& finding) {
    const sim::MeasuresFound& found = finding.found;
    const auto differing = count_of(found.cells, [](const MeasureCell& c) { return c.needs_reason; });
    const auto unexplained = count_of(found.cells, [](const MeasureCell& c) { return !c.explained(); });
    const std::string what = finding.file.empty()
                                 ? "Each measure alone against each error"
                                 : "The measures of " + plain(finding.profile.empty() ? finding.file : finding.profile);
    if (!found.sound) {
        page.headline("UNSOUND", Hue::danger,
                      what + ": a link did not run, or stopped without any error; please report it.");
        return;
    }
    const std::string text = what + ", " + counted(found.cells.size(), "cell", "cells") + " of " +
                             counted(finding.trials, "trial", "trials") + ": ";
    if (finding.as_it_should_be())
        page.headline("EXPLAINED", Hue::good,
                      text + (differing == 0 ? "all agree with what is published."
                                             : std::to_string(differing) +
                                                   " differ from a published table or see some only, each with its "
                                                   "reason."));
    else
        page.headline("UNEXPLAINED", Hue::danger,
                      text + (unexplained == 0 ? "an error gets through, and nothing says why."
                                               : counted(unexplained, "has", "have") + " no reason on file."));
}

void section(Page& page, const MeasuresFinding& finding, Exchange exchange) {
    const sim::MeasuresFound& found = finding.found;
    const Matrix matrix(found, exchange);
    if (matrix.cells.empty()) return;
    const bool alone = finding.file.empty();
    page.blank();
    page.line(alone ? "Seen by the measure, alone in a stream: all of the trials, none, or so many"
                    : "Seen by each measure, " + std::string(word_for(exchange)) +
                          ": all of the trials, none, or so many");
    // alone, a measure is tried with one kind of forgery only
    table(page, matrix, in_cell, alone ? Forgers::together : Forgers::apart);
    page.blank();
    page.paragraph("Published  ",
                   "IEC 62541-15 Table 2 / IEC 61784-3 / EN 50159: Y marked, N not marked, - nothing said, or only "
                   "under a condition. The second, and the columns of the third, from memory.");
    table(page, matrix, marks_of, Forgers::together);
    differences(page, matrix);
    page.blank();
    if (exchange == Exchange::polled) against_table_2(page, found.whole);
    page.line(alone ? "All eight together, and all but one" : "The whole telegram, and without one measure");
    through_whole(page, found.whole, exchange);
    through_without(page, found, exchange);
    if (exchange == Exchange::polled)
        page.paragraph("  " + left_aligned("without number or fed back", name_width), "there is no polled exchange");
}

}  // namespace

std::string_view caught_of(unsigned detected, unsigned trials) {
    return detected == 0 ? "none" : detected == trials ? "all" : "some";
}

std::string_view word_for(Exchange exchange) { return exchange == Exchange::polled ? "polled" : "streaming"; }

Page page_of(const MeasuresFinding& finding, Columns columns) {
    Page page(columns);
    head(page, finding);
    section(page, finding, Exchange::polled);
    section(page, finding, Exchange::streaming);
    page.blank();
    std::string repeat = "linkdrill measures";
    if (!finding.file.empty()) repeat += " " + shell_word(finding.file);
    page.paragraph("Repeat     ",
                   repeat + " --trials " + std::to_string(finding.trials) + " --seed " + std::to_string(finding.seed));
    return page;
}

}  // namespace tools
