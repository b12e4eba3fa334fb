#include <algorithm>
#include <array>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "tools/run/run_page_parts.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using proto::Duration;
using sim::InjectionResult;
using sim::Outcome;

/// Until both ends hold their safe values.
std::optional<Duration> safe_after(const InjectionResult& i) {
    return std::max(i.safe_state_controller, i.safe_state_device);
}

struct Row {
    std::string number, at, error, way, outcome, caught, after, slowed, stands;
    Hue hue = Hue::none;
    std::vector<std::string> below;  ///< sentences under the row
};

Hue hue_of(Outcome outcome) {
    switch (outcome) {
        case Outcome::safe_state: return Hue::caution;
        case Outcome::tolerated:
        case Outcome::no_effect: return Hue::good;
        case Outcome::dangerous: return Hue::danger;
        case Outcome::not_fired:
        case Outcome::never_ran: return Hue::caution;
    }
    return Hue::none;
}

/// Until the machine stands; without one until both ends are safe.
std::string stands_of(const InjectionResult& i, const sim::Scenario& scenario) {
    if (i.outcome == Outcome::not_fired || i.outcome == Outcome::never_ran) return "-";
    const std::optional<Duration> time = scenario.machine ? i.standstill : safe_after(i);
    if (time) return in_ms(*time, Rounding::up);
    return i.outcome == Outcome::safe_state && !only_slowed(scenario, i) ? "-" : "ran on";
}

Row row_of(const InjectionResult& i, const sim::Scenario& scenario, const EndNames& names) {
    const sim::Fault* fault = i.fault < scenario.faults.size() ? &scenario.faults[i.fault] : nullptr;
    Row row;
    row.number = std::to_string(i.fault + 1);
    row.at = struck(i) ? in_s(i.at) : "-";
    row.error = plain(fault ? words_of(*fault, scenario) : std::string(name_of(i.error)));
    row.way = way_of(i);
    row.outcome = std::string(word_for(i.outcome));
    row.hue = hue_of(i.outcome);
    row.caught = plain(caught_by(i, names));
    row.after = i.detect ? in_tenths_of_ms(*i.detect, Rounding::up) : "-";
    row.slowed = i.reduced ? in_ms(*i.reduced, Rounding::up) : "-";
    row.stands = stands_of(i, scenario);

    const bool danger = i.outcome == Outcome::dangerous, never_ran = i.outcome == Outcome::never_ran;
    if (!i.as_expected)
        row.below.push_back("Not as expected." + (i.expected.empty() ? "" : " Expected: " + i.expected));
    if (!i.within_limit && i.allowed)
        row.below.push_back(
            (only_slowed(scenario, i) ? "Never stood, and has to within the allowed " : "Over the allowed ") +
            in_ms(*i.allowed, Rounding::down) + ".");
    if (!i.within_limit && !i.allowed) row.below.emplace_back("Over what is allowed.");
    if (i.latent)
        row.below.emplace_back("No effect yet, but part of the time allowed is used up, and nothing noticed.");
    if (!i.why.empty() && (danger || never_ran || !i.as_expected || !i.within_limit || i.latent))
        row.below.push_back(as_sentence(i.why));
    return row;
}

constexpr std::array<const char*, 9> titles{"#",         "at",    "error and place", "way",   "outcome",
                                            "caught by", "after", "slowed",          "stands"};

struct Widths {
    std::size_t number = 2, at = 2, error = 0, way = 4, outcome = 7, caught = 9, after = 5, stands = 6;
    std::size_t slowed = 0;  ///< 0: no such column, the machine never was slowed without being stopped
    static constexpr std::size_t gaps = std::size_t{7} * 2;
    [[nodiscard]] std::size_t fixed() const {
        return number + at + way + outcome + after + stands + gaps + (slowed > 0 ? slowed + 2 : 0);
    }
};

Widths widths_for(const std::vector<Row>& rows, std::size_t columns, bool with_slowed) {
    Widths w;
    if (with_slowed) w.slowed = std::string_view(titles[7]).size();
    std::size_t caught = 9;
    for (const Row& row : rows) {
        w.number = std::max(w.number, row.number.size());
        w.at = std::max(w.at, row.at.size());
        w.outcome = std::max(w.outcome, row.outcome.size());
        w.after = std::max(w.after, row.after.size());
        w.stands = std::max(w.stands, row.stands.size());
        if (with_slowed) w.slowed = std::max(w.slowed, row.slowed.size());
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
                right_aligned(once(row.after), w.after) + "  " +
                (w.slowed > 0 ? right_aligned(once(row.slowed), w.slowed) + "  " : "") +
                right_aligned(once(row.stands), w.stands);
        if (i == 0)
            page.marked(text, outcome_at, row.outcome.size(), row.hue);
        else
            page.marked(text, 0, 0, Hue::none);
    }
}

/// First the error, then the outcome, for narrow terminals and for rows whose cells do not fit side by side.
void tall_row(Page& page, const Row& row, const Widths& w) {
    const std::string lead = right_aligned(row.number, w.number) + "  ";
    const std::string indent(lead.size(), ' ');
    page.paragraph(lead, row.at + "  " + row.error + "  " + row.way);
    const std::string rest = "  caught by: " + row.caught + ", after " + row.after +
                             (w.slowed > 0 ? ", slowed " + row.slowed : "") +
                             (row.stands == "ran on" ? ", ran on" : ", stands " + row.stands);
    const std::string line = indent + row.outcome + rest;
    if (line.size() <= page.columns().count) {
        page.marked(line, indent.size(), row.outcome.size(), row.hue);
    } else {
        page.marked(indent + row.outcome, indent.size(), row.outcome.size(), row.hue);
        page.paragraph(indent + "  ", rest.substr(2));
    }
}

}  // namespace

bool only_slowed(const sim::Scenario& scenario, const InjectionResult& injection) {
    return scenario.machine && scenario.machine->reduced_speed_um_s > 0 && injection.reduced && !injection.standstill;
}

bool struck(const sim::InjectionResult& i) {
    if (i.outcome == Outcome::never_ran) return i.telegrams > 0 || i.at_end;
    return i.outcome != Outcome::not_fired;
}

bool is_dangerous(const sim::InjectionResult& injection) { return injection.outcome == Outcome::dangerous; }

void rows_on(Page& page, const sim::Scenario& scenario, const sim::RunResult& result) {
    if (result.injections.empty()) return;
    const EndNames names = short_names(scenario);
    std::vector<Row> all;
    for (const InjectionResult& i : result.injections)
        if (is_dangerous(i)) all.push_back(row_of(i, scenario, names));
    for (const InjectionResult& i : result.injections)
        if (!is_dangerous(i)) all.push_back(row_of(i, scenario, names));
    // what is told of the whole link needs no sentence at each row
    if (!result.link_started)
        for (Row& row : all)
            if (row.outcome == word_for(Outcome::never_ran)) row.below.clear();

    const bool slowed = std::any_of(result.injections.begin(), result.injections.end(),
                                    [&](const InjectionResult& i) { return only_slowed(scenario, i); });
    const Widths w = widths_for(all, page.columns().count, slowed);
    const bool wide = page.columns().wide() && w.error >= least_words && w.caught >= 9;
    page.blank();
    if (wide) {
        page.line(right_aligned(titles[0], w.number) + "  " + left_aligned(titles[1], w.at) + "  " +
                  left_aligned(titles[2], w.error) + "  " + left_aligned(titles[3], w.way) + "  " +
                  left_aligned(titles[4], w.outcome) + "  " + left_aligned(titles[5], w.caught) + "  " +
                  right_aligned(titles[6], w.after) + "  " + (slowed ? right_aligned(titles[7], w.slowed) + "  " : "") +
                  right_aligned(scenario.machine ? titles[8] : "safe", w.stands));
    }
    for (const Row& row : all) {
        if (wide)
            wide_row(page, row, w);
        else
            tall_row(page, row, w);
        for (const std::string& sentence : row.below) page.paragraph("    ", sentence);
    }
    std::string until = "\"safe\" until both ends hold their safe values";
    if (scenario.machine) {
        const std::string machine = safe_name(scenario.machine->name, "machine");
        until = slowed ? "\"slowed\" until down to " + speed_in_words(scenario.machine->reduced_speed_um_s) + ", " : "";
        until += "\"stands\" until the " + machine + " " + std::string(with_name(machine, "stands", "stand"));
    }
    page.paragraph("    ", "C>D " + names.controller + " to " + names.device +
                               "; from the injection: \"after\" until caught, " + until);
}

}  // namespace tools
