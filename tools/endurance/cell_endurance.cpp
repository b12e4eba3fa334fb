#include "tools/endurance/cell_endurance.hpp"

#include <algorithm>
#include <array>
#include <cstdio>
#include <string>
#include <utility>

#include "tools/text/text.hpp"

namespace tools {
namespace {

constexpr double seconds_per_year = 365.25 * 86400.0;

/// How bad it is: in this order, but for links that were stopped.
std::ptrdiff_t badness(EnduranceVerdict verdict) {
    constexpr std::array order{EnduranceVerdict::pass,        EnduranceVerdict::undecided, EnduranceVerdict::stopped,
                               EnduranceVerdict::not_running, EnduranceVerdict::fail,      EnduranceVerdict::dangerous};
    return std::find(order.begin(), order.end(), verdict) - order.begin();
}

/// Years in which stops could come, over the links that can stop at all.
struct Years {
    double shortest = 0.0, longest = 0.0;
    void add(double years) {
        shortest = shortest == 0.0 ? years : std::min(shortest, years);
        longest = std::max(longest, years);
    }
    [[nodiscard]] sim::Interval rate(const sim::Interval& counts) const {
        if (longest == 0.0) return {};
        return {counts.low / longest, counts.high / shortest};
    }
};

void add_up(CellEndurance& found) {
    std::uint64_t stops = 0;
    Years years, running;
    for (std::size_t i = 0; i < found.links.size(); ++i) {
        const EnduranceFinding& link = found.links[i];
        found.all_ran = found.all_ran && link.result.parts_done > 0 && link.result.link_started;
        found.per_year += link.per_year;
        found.per_running_year += link.per_running_year;
        if (link.per_year > (found.stops_most ? found.links[*found.stops_most].per_year : 0.0)) found.stops_most = i;
        // one that cannot stop adds nothing, however few its years
        if (link.nothing_can_happen() && link.result.spurious() == 0) continue;
        stops += link.result.spurious();
        years.add(link.years);
        running.add(std::max(link.result.seconds - link.result.seconds_stopped, 1.0) / seconds_per_year);
    }
    const sim::Interval counts = sim::poisson_interval(stops);
    found.interval = years.rate(counts);
    found.running_interval = running.rate(counts);
}

std::string three_digits(double value) {
    std::array<char, 40> text{};
    std::snprintf(text.data(), text.size(), "%.3g", value);
    return text.data();
}

std::string sentence_of(const CellEndurance& found) {
    if (!found.all_ran) return "not every link ran; see below which.";
    std::string text = three_digits(found.per_year) + " stops for nothing a year over all links (" +
                       three_digits(found.interval.low) + " to " + three_digits(found.interval.high) + ")";
    if (found.cell.trip_limit.stated) text += ", " + three_digits(found.cell.trip_limit.per_year) + " allowed";
    if (found.stops_most) text += ", most of them by link " + plain(found.cell.links[*found.stops_most].name);
    return text + ".";
}

std::string limit_of_sum(const CellEndurance& found) {
    if (!found.cell.trip_limit.stated)
        return "Each link by itself, held against its own limit; nothing is stated for the sum (trips_per_year in "
               "[limit] of the file).";
    std::string text = "Each link by itself, held against its own limit, and the sum against that of the file";
    if (!found.of_sum) return text + ", which cannot be judged while a link does not run.";
    if (*found.of_sum == EnduranceVerdict::undecided) text += ": too few years to say that the sum keeps it";
    if (*found.of_sum == EnduranceVerdict::fail) text += ", over which the sum is";
    text += ".";
    if (found.per_running_year > found.per_year * 1.01)
        text += " A year in which each runs all the time " + three_digits(found.per_running_year) +
                "; that is what is compared.";
    return text;
}

}  // namespace

CellEndurance finding_of(const sim::WholeCell& cell, std::vector<EnduranceFinding> links) {
    CellEndurance found{cell, std::move(links), true, 0.0, {}, 0.0, {}, {}, {}, EnduranceVerdict::pass};
    add_up(found);
    const double limit = cell.trip_limit.per_year;
    if (cell.trip_limit.stated && found.all_ran)
        found.of_sum = found.per_running_year > limit        ? EnduranceVerdict::fail
                       : found.running_interval.high > limit ? EnduranceVerdict::undecided
                                                             : EnduranceVerdict::pass;
    found.verdict = found.of_sum.value_or(EnduranceVerdict::pass);
    for (const EnduranceFinding& link : found.links)
        if (badness(link.verdict) > badness(found.verdict)) found.verdict = link.verdict;
    return found;
}

Page page_of(const CellEndurance& found, Columns columns) {
    Page page(columns);
    const VerdictWord word = word_for(found.verdict);
    page.headline(word.word, word.hue, plain(found.cell.title) + ": " + sentence_of(found));
    page.paragraph(std::string(std::string_view(word.word).size() + 2, ' '),
                   limit_of_sum(found) +
                       " The links of a cell disturb each other no more than their channels say. Simulated on a desk.");
    page.blank();
    std::size_t width = 0;
    for (const sim::CellLink& link : found.cell.links) width = std::max(width, plain(link.name).size());
    for (std::size_t i = 0; i < found.links.size(); ++i) {
        const EnduranceFinding& link = found.links[i];
        const VerdictWord of_link = word_for(link.verdict);
        const std::string lead =
            left_aligned(of_link.word, 11) + left_aligned(plain(found.cell.links[i].name), width + 2);
        std::string text = "did not run";
        if (link.result.link_started)
            text = three_digits(link.per_year) + " a year (" + three_digits(link.interval.low) + " to " +
                   three_digits(link.interval.high) + "), " + three_digits(link.scenario.trip_limit.per_year) +
                   " allowed" + (link.scenario.trip_limit.stated ? "" : " (not stated)");
        page.paragraph(lead, text + ", seed " + std::to_string(link.seed));
    }
    page.blank();
    page.paragraph("One link   ", "linkdrill endurance " + shell_word(found.cell.file) + " --link NAME --seed N");
    return page;
}

namespace {

std::string small_word_for(EnduranceVerdict verdict) {
    std::string word = word_for(verdict).word;
    for (char& letter : word)
        if (letter >= 'A' && letter <= 'Z') letter = static_cast<char>(letter - 'A' + 'a');
    return word;
}

}  // namespace

Value describe(const CellEndurance& found) {
    Value::List links;
    for (std::size_t i = 0; i < found.links.size(); ++i) {
        Value::Object link{{"name", found.cell.links[i].name}};
        const Value of_link = describe(found.links[i]);
        for (const Value::Member& member : *of_link.object())
            if (member.key != "scenario") link.push_back(member);
        links.push_back(std::move(link));
    }
    const bool stated = found.cell.trip_limit.stated;
    return Value::Object{{"scenario", found.cell.file},
                         {"seed", found.links.front().seed},
                         {"verdict", small_word_for(found.verdict)},
                         {"years", found.links.front().years},
                         {"per_year", found.per_year},
                         {"low", found.interval.low},
                         {"high", found.interval.high},
                         {"per_running_year", found.per_running_year},
                         {"allowed_per_year", stated ? Value(found.cell.trip_limit.per_year) : Value()},
                         {"allowed_stated", stated},
                         {"sum_verdict", found.of_sum ? Value(small_word_for(*found.of_sum)) : Value()},
                         {"stops_most", found.stops_most ? Value(found.cell.links[*found.stops_most].name) : Value()},
                         {"links", std::move(links)}};
}

}  // namespace tools
