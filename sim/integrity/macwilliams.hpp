#pragma once
// The weights of a code from those of its dual, by the identity of F. J. MacWilliams (1963): in whole numbers, without
// rounding.
#include <cstdint>
#include <optional>
#include <vector>

#include "sim/numeric/wide_number.hpp"

namespace sim {

/// Weights of a code of 2^data words from those of its dual, which has 2^width with width = n - data; `dual` has n + 1
/// counts. Nothing if there is no such code: the counts do not add up or give fractions.
std::optional<std::vector<WideNumber>> transformed(const std::vector<std::uint64_t>& dual, unsigned width);

}  // namespace sim
