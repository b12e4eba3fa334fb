// The guards of a rehearsal's page: what each demand showed, and what that comes to for each function.
#include <algorithm>
#include <array>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "tools/run/guard_rows.hpp"
#include "tools/run/run_page_parts.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using proto::Duration;
using sim::Met;

constexpr std::size_t rows_shown = 200;

enum Column : std::size_t { guard, opened, computed, sent, received, command, machine, reduced, stands, allowed, met };
constexpr std::size_t columns = 11;
/// The upper line of the titles, and the lower one.
constexpr std::array<const char*, columns> over{"", "contact", "", "sent", "received", "", "", "", "", "", ""};
constexpr std::array<const char*, columns> titles{"guard",   "opened",  "computed", "1->0",    "1->0", "command",
                                                  "machine", "reduced", "stands",   "allowed", "met"};
constexpr bool left(std::size_t column) { return column == guard || column == machine || column == met; }

using Cells = std::array<std::string, columns>;

struct Hop {
    std::string signal;
    Cells cells;
};
struct Row {
    Cells cells;
    Hue hue = Hue::none;  ///< of the word in the last column
    std::vector<Hop> hops;
    std::vector<std::string> below;  ///< sentences
};

std::string ms(const std::optional<Duration>& time, Rounding rounding = Rounding::up) {
    return time ? in_ms(*time, rounding) : "-";
}

std::string word_of(const std::optional<Met>& met) {
    if (!met) return "-";
    return *met == Met::no ? "NOT MET" : std::string(words_of(*met));
}

Hue hue_of(Met met) {
    switch (met) {
        case Met::yes: return Hue::good;
        case Met::no: return Hue::danger;
        case Met::not_shown: return Hue::caution;
    }
    return Hue::none;
}

Hop hop_of(const sim::Scenario& scenario, const sim::DemandHop& hop) {
    Hop out;
    out.signal = "?";
    if (hop.signal < scenario.signals.size()) {
        const std::string& first = scenario.signals[hop.signal].name;
        out.signal = plain(first);
        // both turn in one telegram, and what the pair counts as is what is in use
        if (const sim::Signal* second = sim::second_of(scenario.signals, first))
            out.signal += " with " + plain(second->name);
        if (!hop.link.empty()) out.signal = plain(hop.link) + ": " + out.signal;
    }
    out.cells[computed] = ms(hop.computed);
    out.cells[sent] = ms(hop.sent);
    out.cells[received] = hop.was_zero ? "was 0" : ms(hop.received);
    return out;
}

/// `several`: its demand has more than one row, so that each says what it is judged by.
Row row_of(const sim::Scenario& scenario, const GuardRow& from, bool several) {
    const sim::DemandResult& demand = *from.demand;
    const sim::Safeguard* safeguard = guard_of(scenario, demand);
    Row row;
    if (from.first) {
        row.cells[guard] = safeguard ? plain(safeguard->name) : "?";
        row.cells[opened] = in_s(demand.at);
        // what stops the machine long after a demand that nothing obeys is not its doing
        const bool obeyed = demand.reaches_output;
        row.cells[command] = obeyed ? ms(demand.command) : "-";
        row.cells[machine] = std::string(word_for(machine_did(scenario, demand)));
        if (!demand.machine.empty()) row.cells[machine] = plain(demand.machine) + " " + row.cells[machine];
        const bool slow = scenario.machine && scenario.machine->reduced_speed_um_s > 0;
        row.cells[reduced] = obeyed && slow ? ms(demand.reduced) : "-";
        row.cells[stands] = obeyed ? ms(demand.standstill) : "-";
        for (const sim::DemandHop& hop : demand.hops) row.hops.push_back(hop_of(scenario, hop));
    }
    const sim::FunctionRow* judged = from.judged;
    row.cells[allowed] = judged ? ms(judged->allowed, Rounding::down) : "-";
    row.cells[met] = word_of(judged ? std::optional(judged->met) : std::nullopt);
    if (judged) row.hue = hue_of(judged->met);
    const bool named = judged && judged->function < scenario.functions.size();
    if (several && named) row.below.push_back("By \"" + plain(scenario.functions[judged->function].name) + "\".");
    std::string why = why_of(scenario, from);
    if (why.empty()) return row;
    if (judged && judged->met != Met::yes) why = std::string(words_of(judged->met)) + ": " + why;
    row.below.push_back(as_sentence(plain(why)));
    return row;
}

/// Those that are not as they must be first.
std::vector<Row> rows_of(const sim::Scenario& scenario, const sim::RunResult& result) {
    const std::vector<GuardRow> all = guard_rows(result);
    const auto bad = [&](const GuardRow& row) {
        return std::any_of(all.begin(), all.end(), [&](const GuardRow& other) {
            return other.number == row.number && is_dangerous(scenario, other);
        });
    };
    std::vector<Row> rows;
    for (const bool wanted : {true, false})
        for (std::size_t i = 0; i < all.size(); ++i) {
            if (bad(all[i]) != wanted) continue;
            const bool several = !all[i].first || (i + 1 < all.size() && !all[i + 1].first);
            rows.push_back(row_of(scenario, all[i], several));
        }
    return rows;
}

struct Layout {
    std::array<std::size_t, columns> width{};  ///< 0: nothing to tell, left out
    std::size_t gap = 2;
    bool wide = false;
    /// From the begin of the first column to the end of the second, where the name of a signal stands.
    [[nodiscard]] std::size_t name() const { return width[guard] + gap + width[opened]; }
};

bool tells(const std::string& cell) { return !cell.empty() && cell != "-"; }

/// A column without meaning in this plant is left out; names get what is left, and wrap.
Layout layout_for(const std::vector<Row>& rows, Columns page) {
    Layout layout;
    std::size_t longest = 5;
    const auto look_at = [&](const Cells& cells) {
        for (std::size_t c = opened; c < columns; ++c)
            if (tells(cells[c])) layout.width[c] = std::max(layout.width[c], cells[c].size());
    };
    // that nothing was sent, received or commanded is what such a column tells
    const auto keep = [&](std::initializer_list<Column> kept) {
        for (const Column c : kept) layout.width[c] = std::max<std::size_t>(layout.width[c], 1);
    };
    for (const Row& row : rows) {
        look_at(row.cells);
        longest = std::max(longest, row.cells[guard].size());
        for (const Hop& hop : row.hops) look_at(hop.cells);
        if (!row.hops.empty()) keep({computed, sent, received});
        if (tells(row.cells[machine])) keep({command, stands});
    }
    std::size_t fixed = 0, gaps = 0;
    for (std::size_t c = opened; c < columns; ++c) {
        std::size_t& width = layout.width[c];
        if (width == 0) continue;
        width = std::max({width, std::string_view(titles[c]).size(), std::string_view(over[c]).size()});
        fixed += width;
        ++gaps;
    }
    for (const std::size_t gap : {2UL, 1UL}) {
        const std::size_t least = std::min<std::size_t>(longest, gap == 2 ? 16 : 10);
        if (page.count < fixed + gaps * gap + least) continue;
        layout.gap = gap;
        layout.width[guard] = std::min(longest, page.count - fixed - gaps * gap);
        layout.wide = page.wide();
        break;
    }
    return layout;
}

std::string cell_of(const Layout& layout, std::size_t column, const std::string& text) {
    const std::size_t width = layout.width[column];
    if (width == 0) return {};
    return std::string(layout.gap, ' ') + (left(column) ? left_aligned(text, width) : right_aligned(text, width));
}

void wide_hop(Page& page, const Hop& hop, const Layout& layout) {
    constexpr std::size_t indent = 2;
    const std::vector<std::string> name = wrapped(hop.signal, std::max<std::size_t>(layout.name(), 3) - indent);
    for (std::size_t i = 0; i < name.size(); ++i) {
        std::string text = left_aligned("  " + name[i], layout.name());
        for (std::size_t c = computed; c <= received && i == 0; ++c) text += cell_of(layout, c, hop.cells[c]);
        page.marked(std::move(text), 0, 0, Hue::none);
    }
}

void wide_row(Page& page, const Row& row, const Layout& layout) {
    const std::vector<std::string> name = wrapped(row.cells[guard], layout.width[guard]);
    for (std::size_t i = 0; i < name.size(); ++i) {
        std::string text = left_aligned(name[i], layout.width[guard]);
        std::size_t at = 0, length = 0;
        for (std::size_t c = opened; c < columns && i == 0; ++c) {
            if (c == met && layout.width[met] > 0) {
                at = text.size() + layout.gap;
                length = row.cells[met].size();
            }
            text += cell_of(layout, c, row.cells[c]);
        }
        page.marked(std::move(text), at, length, i == 0 ? row.hue : Hue::none);
    }
    for (const Hop& hop : row.hops) wide_hop(page, hop, layout);
}

/// What there is to tell, one thing after the other: "command 9.0 ms, stops, stands 329 ms, allowed 596 ms".
std::string in_a_row(const Cells& cells, std::initializer_list<std::pair<Column, const char*>> parts) {
    std::string text;
    for (const auto& [column, name] : parts)
        if (tells(cells[column])) text += (text.empty() ? "" : ", ") + std::string(name) + cells[column];
    return text;
}

void tall_row(Page& page, const Row& row) {
    const std::string& word = row.cells[met];
    if (tells(row.cells[guard])) page.paragraph_at(4, "", row.cells[guard] + "  contact opened " + row.cells[opened]);
    for (const Hop& hop : row.hops)
        page.paragraph_at(
            6, "    ",
            hop.signal + ": " +
                in_a_row(hop.cells, {{computed, "computed "}, {sent, "sent 1->0 "}, {received, "received 1->0 "}}));
    const std::string rest = in_a_row(
        row.cells,
        {{command, "command "}, {machine, ""}, {reduced, "reduced "}, {stands, "stands "}, {allowed, "allowed "}});
    if (!tells(word)) {
        if (!rest.empty()) page.paragraph_at(6, "    ", rest);
    } else if (const std::string line = "    " + word + "  " + rest; line.size() <= page.columns().count) {
        page.marked(line, 4, word.size(), row.hue);
    } else {
        page.marked("    " + word, 4, word.size(), row.hue);
        page.paragraph_at(6, "      ", rest);
    }
}

void titles_on(Page& page, const Layout& layout) {
    for (const auto& line : {over, titles}) {
        std::string text = left_aligned(line[guard], layout.width[guard]);
        for (std::size_t c = opened; c < columns; ++c) text += cell_of(layout, c, line[c]);
        page.marked(std::move(text), 0, 0, Hue::none);
    }
}

void legend_on(Page& page, const sim::Scenario& scenario) {
    std::string text =
        "from the contact; under a guard each signal on its way: 0 computed by its sender, sent, in use at its "
        "receiver";
    if (scenario.machine && scenario.machine->reduced_speed_um_s > 0)
        text += "; \"reduced\" until down to " + speed_in_words(scenario.machine->reduced_speed_um_s);
    page.paragraph("    ", text);
}

void demands_on(Page& page, const sim::Scenario& scenario, const sim::RunResult& result) {
    std::vector<Row> rows = rows_of(scenario, result);
    if (rows.empty()) return;
    const std::size_t all = rows.size();
    rows.resize(std::min(all, rows_shown));
    const Layout layout = layout_for(rows, page.columns());
    page.blank();
    if (layout.wide) titles_on(page, layout);
    for (const Row& row : rows) {
        if (layout.wide)
            wide_row(page, row, layout);
        else
            tall_row(page, row);
        for (const std::string& sentence : row.below) page.paragraph("    ", sentence);
    }
    if (all > rows.size()) page.line("    and " + std::to_string(all - rows.size()) + " more in demands.csv");
    legend_on(page, scenario);
}

void functions_on(Page& page, const sim::Scenario& scenario, const sim::RunResult& result) {
    if (result.functions.empty()) return;
    page.blank();
    page.paragraph_at(4, "", "Functions, from the demand to the end of the hazard, sensor included:");
    for (const sim::FunctionResult& found : result.functions) {
        if (found.function >= scenario.functions.size()) continue;
        const sim::SafetyFunction& function = scenario.functions[found.function];
        const std::string word = word_of(found.met);
        std::string text = plain(function.name);
        if (function.level) text += " (" + written(*function.level) + ")";
        text += ": worst " + ms(found.worst) + ", within ";
        text += found.within ? ms(found.within, Rounding::down) : "not stated";
        const std::vector<std::string> parts = wrapped(text, page.columns().count - 11);
        page.marked(left_aligned(word, 9) + "  " + parts.front(), 0, word.size(), hue_of(found.met));
        for (std::size_t i = 1; i < parts.size(); ++i) page.marked(std::string(11, ' ') + parts[i], 0, 0, Hue::none);
        const std::string why = why_of(scenario, result, found);
        if (found.met != Met::yes && !why.empty()) page.paragraph(std::string(11, ' '), as_sentence(plain(why)));
    }
}

}  // namespace

void guards_on(Page& page, const sim::Scenario& scenario, const sim::RunResult& result) {
    demands_on(page, scenario, result);
    functions_on(page, scenario, result);
}

}  // namespace tools
