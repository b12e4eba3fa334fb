#pragma once
// A drill as an exam shows it: the same task, but not what somebody saw in practice.
#include <cstdint>
#include <memory>

#include "sim/training/bench.hpp"
#include "sim/training/drill.hpp"

namespace sim {

/// One of the drill and its variants, with addresses, numbers, noise, hour and the moment of the trouble drawn anew;
/// the same seed gives the same. What it promises still holds: where a draw breaks that, another is taken, and after
/// `draws_max` of them the drill as it is written.
struct DrawnDrill {
    Drill drill;
    std::unique_ptr<Bench> bench;  ///< at the time at which the trainee comes to it
};
DrawnDrill drawn_for_exam(const Drill& drill, std::uint64_t seed);
inline constexpr unsigned draws_max = 8;

}  // namespace sim
