#pragma once
// Odds of stops for nothing, in words.
#include <string>

namespace sim {

struct TripOdds;

/// A count or rate with two digits: "32", "316 000", "5.6e-06" as people write it.
std::string two_digits(double value);
/// "1 in 10 years", "5 a year".
std::string in_words_of(double per_year);
/// "1 in 320 years", "316 000 a year", "never", "too rare to claim".
std::string in_words(const TripOdds& odds);

}  // namespace sim
