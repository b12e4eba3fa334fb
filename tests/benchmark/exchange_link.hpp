#pragma once
// The link of the exchange benchmark, for whoever compares with it.
#include <cstdint>

#include "sim/scenario/scenario.hpp"

namespace benchmarks {

/// The floor's link: 4 ms cycle, 12 ms watchdog, 64-cell delays, one guard signal each way, a press. Lasts so many
/// cycles; nothing goes wrong.
sim::Scenario exchange_link(std::uint64_t cycles);

}  // namespace benchmarks
