#include "sim/numeric/dependence_words.hpp"

#include <array>
#include <cstdio>

#include "sim/numeric/dependence.hpp"

namespace sim {
namespace {

std::string fixed(double value, int digits) {
    std::array<char, 32> text{};
    std::snprintf(text.data(), text.size(), "%.*f", digits, value);
    return text.data();
}

std::string count(std::uint64_t value) { return std::to_string(value); }

/// Which tests found something, as a list.
std::string found_by(const Dependence& found) {
    struct Test {
        bool fails;
        const char* words;
    };
    const bool late = found.late.has_value();
    const Test tests[] = {
        {found.runs.p < found.p_asked, found.runs.z < 0.0 ? "times over and under the median come in long runs"
                                                          : "times over and under the median alternate too often"},
        {found.correlations.p < found.p_asked, "times follow those before them"},
        {late && found.late->runs_p < found.p_asked,
         late && static_cast<double>(found.late->runs) < found.late->runs_expected
             ? "long ones come one right after another"
             : "long ones avoid each other"},
        {late && found.late->intervals_p < found.p_asked, late && found.late->extremal_index < 1.0
                                                              ? "long ones crowd into some stretches"
                                                              : "long ones come too evenly"},
    };
    std::string list;
    for (const Test& test : tests)
        if (test.fails) list += (list.empty() ? "" : "; ") + std::string(test.words);
    return list;
}

}  // namespace

std::string p_in_words(double p) {
    constexpr double least = 1e-4;
    if (p < least) return "under 0.0001";
    std::array<char, 32> text{};
    std::snprintf(text.data(), text.size(), "%.2g", p);
    return text.data();
}

std::string in_words(const Dependence& found) {
    switch (found.verdict) {
        case DependenceVerdict::dependent:
            return "The measured times depend on their neighbours: " + found_by(found) + ".";
        case DependenceVerdict::independent_as_far_as_seen:
            return "The measured times show no dependence on their neighbours, as far as " + count(found.count) +
                   " of them can tell.";
        case DependenceVerdict::too_few: break;
    }
    return found.count < dependence_needs
               ? "Whether the measured times depend on their neighbours cannot be told from " + count(found.count) +
                     " of them; it takes " + count(dependence_needs) + "."
               : "Whether the measured times depend on their neighbours cannot be told: too many of them are equal.";
}

std::vector<std::string> figures_in_words(const Dependence& found) {
    std::vector<std::string> lines;
    if (found.runs.expected > 0.0)
        lines.push_back("Runs over and under the median: " + count(found.runs.runs) + ", " +
                        fixed(found.runs.expected, 0) + " expected (p " + p_in_words(found.runs.p) + ").");
    if (!found.correlations.by_lag.empty())
        lines.push_back("Rank correlation with the time before: " + fixed(found.correlations.by_lag.front(), 2) +
                        "; of lags 1 to " + count(found.correlations.by_lag.size()) + " together p " +
                        p_in_words(found.correlations.p) + ".");
    if (found.late) {
        const ClusterTest& late = *found.late;
        lines.push_back("The longest " + count(late.exceedances) + " come in " + count(late.runs) + " groups, " +
                        fixed(late.runs_expected, 0) + " expected (p " + p_in_words(late.runs_p) +
                        "); extremal index " + fixed(late.extremal_index, 2) + " (p " + p_in_words(late.intervals_p) +
                        "), the longest cluster spans " + count(late.longest_cluster) +
                        (late.longest_cluster == 1 ? " time." : " times."));
    }
    lines.push_back(found.block_length ? "What hangs together spans up to " + count(*found.block_length) +
                                             (*found.block_length == 1 ? " time." : " times.")
                                       : "No span was found after which times no longer hang together.");
    return lines;
}

}  // namespace sim
