#pragma once
// Which drills an exam asks for.
#include <cstdint>
#include <vector>

#include "sim/training/drill.hpp"

namespace sim {

/// One drill of each of these families of look-alikes, so that a healthy link is always possible...
inline constexpr std::array<char, 4> exam_families{'A', 'B', 'E', 'G'};
/// ...and two of what is left.
inline constexpr std::size_t exam_drills = exam_families.size() + 2;

/// Their numbers, shuffled; the same seed gives the same. Fewer only if the set has fewer.
std::vector<unsigned> exam_of(const DrillSet& set, std::uint64_t seed);

}  // namespace sim
