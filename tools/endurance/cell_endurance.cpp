#include "tools/endurance/cell_endurance.hpp"

#include <algorithm>
#include <array>
#include <cstdio>
#include <string>
#include <utility>

#include "tools/text/text.hpp"

namespace tools {
namespace {

struct Sum {
    double per_year = 0.0, low = 0.0, high = 0.0;
    std::size_t most = 0;  ///< the link that stops most often
    bool all_ran = true;
};

Sum sum_of(const std::vector<EnduranceFinding>& found) {
    Sum sum;
    for (std::size_t i = 0; i < found.size(); ++i) {
        sum.per_year += found[i].per_year;
        sum.low += found[i].interval.low;
        sum.high += found[i].interval.high;
        if (found[i].per_year > found[sum.most].per_year) sum.most = i;
        sum.all_ran = sum.all_ran && found[i].result.link_started;
    }
    return sum;
}

/// The worst of the links: they stand in the order of how bad they are, but for those that were stopped.
EnduranceVerdict worst_of(const std::vector<EnduranceFinding>& found) {
    const auto badness = [](EnduranceVerdict verdict) {
        constexpr std::array order{EnduranceVerdict::pass,    EnduranceVerdict::undecided,
                                   EnduranceVerdict::stopped, EnduranceVerdict::not_running,
                                   EnduranceVerdict::fail,    EnduranceVerdict::dangerous};
        return std::find(order.begin(), order.end(), verdict) - order.begin();
    };
    return std::max_element(found.begin(), found.end(),
                            [&](const auto& a, const auto& b) { return badness(a.verdict) < badness(b.verdict); })
        ->verdict;
}

std::string three_digits(double value) {
    std::array<char, 40> text{};
    std::snprintf(text.data(), text.size(), "%.3g", value);
    return text.data();
}

std::string sentence_of(const sim::WholeCell& cell, const std::vector<EnduranceFinding>& found) {
    const Sum sum = sum_of(found);
    if (!sum.all_ran) return "not every link ran; see below which.";
    std::string text = three_digits(sum.per_year) + " stops for nothing a year over all links (" +
                       three_digits(sum.low) + " to " + three_digits(sum.high) + ")";
    if (sum.per_year > 0.0) text += ", most of them by link " + plain(cell.links[sum.most].name);
    return text + ".";
}

}  // namespace

Page page_of(const sim::WholeCell& cell, const std::vector<EnduranceFinding>& found, Columns columns) {
    Page page(columns);
    const VerdictWord word = word_for(worst_of(found));
    page.headline(word.word, word.hue, plain(cell.title) + ": " + sentence_of(cell, found));
    page.paragraph(
        std::string(std::string_view(word.word).size() + 2, ' '),
        "Each link by itself, held against its own limit; nothing is stated for the sum. The links of a cell "
        "disturb each other no more than their channels say. Simulated on a desk.");
    page.blank();
    std::size_t width = 0;
    for (const sim::CellLink& link : cell.links) width = std::max(width, plain(link.name).size());
    for (std::size_t i = 0; i < found.size(); ++i) {
        const VerdictWord of_link = word_for(found[i].verdict);
        const std::string lead = left_aligned(of_link.word, 11) + left_aligned(plain(cell.links[i].name), width + 2);
        std::string text = "did not run";
        if (found[i].result.link_started)
            text = three_digits(found[i].per_year) + " a year (" + three_digits(found[i].interval.low) + " to " +
                   three_digits(found[i].interval.high) + "), " + three_digits(found[i].scenario.trip_limit.per_year) +
                   " allowed" + (found[i].scenario.trip_limit.stated ? "" : " (not stated)");
        page.paragraph(lead, text + ", seed " + std::to_string(found[i].seed));
    }
    page.blank();
    page.paragraph("One link   ", "linkdrill endurance " + shell_word(cell.file) + " --link NAME --seed N");
    return page;
}

Value describe(const sim::WholeCell& cell, const std::vector<EnduranceFinding>& found) {
    const Sum sum = sum_of(found);
    Value::List links;
    for (std::size_t i = 0; i < found.size(); ++i) {
        Value::Object link{{"name", cell.links[i].name}};
        const Value of_link = describe(found[i]);
        for (const Value::Member& member : *of_link.object())
            if (member.key != "scenario") link.push_back(member);
        links.push_back(std::move(link));
    }
    std::string verdict = word_for(worst_of(found)).word;
    for (char& letter : verdict) letter = static_cast<char>(letter - 'A' + 'a');
    return Value::Object{
        {"scenario", cell.file},    {"seed", found.front().seed},
        {"verdict", verdict},       {"years", found.front().years},
        {"per_year", sum.per_year}, {"low", sum.low},
        {"high", sum.high},         {"stops_most", sum.per_year > 0.0 ? Value(cell.links[sum.most].name) : Value()},
        {"links", std::move(links)}};
}

}  // namespace tools
