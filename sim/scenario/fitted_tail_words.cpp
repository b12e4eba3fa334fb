#include "sim/scenario/fitted_tail_words.hpp"

#include <array>
#include <cstdio>

#include "sim/scenario/channel.hpp"
#include "sim/scenario/units.hpp"

namespace sim {
namespace {

std::string fixed(double value) {
    std::array<char, 32> text{};
    std::snprintf(text.data(), text.size(), "%.2f", value);
    return text.data();
}

std::string two_digits_of(double value) {
    std::array<char, 32> text{};
    std::snprintf(text.data(), text.size(), "%.2g", value);
    return text.data();
}

/// With four digits, as far as a time has them.
std::string rounded(Duration time) {
    std::int64_t step = 1;
    constexpr std::int64_t four_digits = 10'000;
    while (time.ns / step >= four_digits) step *= 10;
    return written(Duration{(time.ns + step / 2) / step * step});
}

std::string reasons_of(const FittedTail& tail) {
    std::string all;
    for (const std::string& why : tail.refused) all += (all.empty() ? "" : "; ") + why;
    return all;
}

}  // namespace

std::string clause_about(const FittedTail& tail) {
    if (!tail.refused.empty()) return "the longest times are not fitted: " + reasons_of(tail);
    return "over " + rounded(tail.threshold) + " (" + std::to_string(tail.excesses) + " of " +
           std::to_string(tail.values) + " times) they are taken to follow a generalised Pareto law of shape " +
           fixed(tail.shape) + " (95 %: " + fixed(tail.shape_low) + " to " + fixed(tail.shape_high) + "), up to " +
           rounded(tail.reach) + " where the longest seen is " + rounded(tail.longest) +
           "; of all times a share of at most " + two_digits_of(100.0 * tail.high.beyond) +
           " % (95 %) is longer, and nobody knows by how much";
}

std::string in_words(const FittedTail& tail) {
    if (!tail.refused.empty())
        return "The longest measured times are not fitted: " + reasons_of(tail) +
               ". How long others may take stays unknown.";
    return "Of the measured times, " + clause_about(tail) + ". The fit is as near as chance has it (p " +
           two_digits_of(tail.anderson_darling_p) + " by Anderson and Darling, " +
           two_digits_of(tail.cramer_von_mises_p) +
           " by Cramer and von Mises). A rarer cause of long times that was never met while measuring is not in it.";
}

}  // namespace sim
