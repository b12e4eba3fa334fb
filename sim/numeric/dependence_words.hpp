#pragma once
// What the tests for dependence found, in words for people.
#include <string>
#include <vector>

namespace sim {

struct Dependence;

/// The verdict in one sentence: "Neighbours depend on each other: ...".
std::string in_words(const Dependence& found);

/// Its figures, a sentence each: runs, rank correlations, the late ones, the block length.
std::vector<std::string> figures_in_words(const Dependence& found);

/// "0.012", "under 0.0001": a p-value as people read it.
std::string p_in_words(double p);

}  // namespace sim
