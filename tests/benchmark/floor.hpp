#pragma once
// The floor under the virtual exchange: a bare loop that does only the work which no simulator of two ends can leave
// out. See floor.cpp.
#include <cstdint>

namespace benchmarks {

/// What keeps the optimiser honest, and shows that the exchange took place.
struct FloorResult {
    std::uint64_t exchanges = 0;
    std::uint64_t trips = 0;
    std::uint64_t sum_of_round_trips = 0;
};

/// `cycles` exchanges of 24-byte telegrams between two ends: per exchange four CRCs by slice-by-8 (two made, two
/// checked), two delays from an alias table, five events through a small sorted array.
FloorResult bare_loop(std::uint64_t cycles, std::uint64_t seed);

}  // namespace benchmarks
