#pragma once
// A fit to the longest measured delays, in words for people.
#include <string>

namespace sim {

struct FittedTail;

/// What it is and how far it goes, or why it is not used, as the end of a sentence about the times: "over 3.1 ms ...".
std::string clause_about(const FittedTail& tail);

/// The same as sentences, for pages.
std::string in_words(const FittedTail& tail);

}  // namespace sim
