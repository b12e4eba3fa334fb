#pragma once
// Telegrams of an earlier start of the same link: genuine in every byte, but of another time.
#include <array>
#include <cstdint>
#include <vector>

#include "sim/channel/passage.hpp"

namespace sim {

struct Scenario;

/// By direction, oldest first: what the two ends send in a short start of their own, parameter telegrams too. Empty
/// for ends that do not agree.
std::array<std::vector<Past>, 2> earlier_start(const Scenario& scenario, std::uint64_t seed);

}  // namespace sim
