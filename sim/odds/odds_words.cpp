#include "sim/odds/odds_words.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "sim/numeric/portable_math.hpp"
#include "sim/odds/trip_odds.hpp"

namespace sim {

std::string two_digits(double value) {
    if (value >= 10.0 && value < 1e7) {
        const double step = whole_power(10.0, static_cast<std::uint64_t>(std::floor(portable_log10(value))) - 1);
        std::string digits = std::to_string(static_cast<long long>(std::round(value / step) * step));
        for (std::size_t i = digits.size(); i > 3; i -= 3) digits.insert(i - 3, " ");
        return digits;
    }
    constexpr double million = 1e6;
    if (value >= 1e7 && value < 1e10) return two_digits(value / million) + " million";
    std::array<char, 32> text{};
    std::snprintf(text.data(), text.size(), "%.2g", value);
    return text.data();
}

std::string in_words_of(double per_year) {
    if (per_year >= 0.95) return two_digits(per_year) + " a year";
    const double years = 1.0 / per_year;
    constexpr double million = 1e6;
    constexpr double rather_as_a_power = 1e11;  // more digits than a column holds
    if (years >= rather_as_a_power) {
        std::string power = two_digits(years);
        power.erase(std::remove(power.begin(), power.end(), '+'), power.end());
        return "1 in " + power + " years";
    }
    if (years >= million) return "1 in " + two_digits(years / million) + " million years";
    return "1 in " + two_digits(years) + " years";
}

std::string in_words(const TripOdds& odds) {
    if (!odds.claimed) {
        if (!odds.high) return "nobody knows";
        const bool bound = *odds.high > rarest_claim_per_year;
        return bound ? "at most " + in_words_of(*odds.high) : "too rare to claim";
    }
    if (!odds.high) return odds.per_year > 0.0 ? "at least " + in_words_of(odds.low) : "nobody knows";
    // where the figure may be far off, the one that decides
    constexpr double far = 1.1;
    if (*odds.high > far * std::max(odds.per_year, rarest_claim_per_year)) return "up to " + in_words_of(*odds.high);
    return odds.per_year > 0.0 ? in_words_of(odds.per_year) : "never";
}

}  // namespace sim
