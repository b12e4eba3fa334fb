#pragma once
// Rare stops by multilevel splitting (Kahn and Harris, 1951; fixed effort as in Garvels, 2000): walks that have used up
// more of a watchdog's time than usual are continued several times with other draws, level after level. Unbiased; the
// standard error comes from independent repetitions, which are the same in any number and order of threads.
#include <cstdint>
#include <functional>

#include "sim/odds/chain_odds.hpp"
#include "sim/odds/link_model.hpp"

namespace sim {

struct SplittingEffort {
    unsigned repetitions = 16;
    std::uint64_t pilot_cycles = 30'000;  ///< of each repetition: also counts what is not rare
    unsigned walks = 2'000;               ///< of each level
    unsigned jobs = 1;
    std::uint64_t seed = 1;
};

struct SplittingOdds {
    double stops = 0.0;           ///< per cycle, flipped bits left out
    double standard_error = 0.0;  ///< of it
    std::array<double, stop_cause_count> by_cause{};
    std::uint64_t counted = 0;  ///< stops seen without splitting
    std::uint64_t cycles = 0;   ///< walked
    unsigned repetitions_with_stops = 0;
    unsigned repetitions = 0;
    double bent_to_device = 0.0, bent_to_controller = 0.0;  ///< per cycle
};

SplittingOdds split(const LinkModel& link, const SplittingEffort& effort);

}  // namespace sim
