#pragma once
// Part of cross_check(): the bits of signals by what they mean, which is which signal lands on which bit of the wire.
#include <cstdint>

#include "sim/scenario/ends.hpp"

namespace sim {

struct CrossCheck;
struct Scenario;

/// Adds what is compared of the bits of that way and what differs. `seen`: the parameters refuse it already.
void compare_bits(const Scenario& scenario, Direction direction, bool seen, CrossCheck& result);

/// How many settings that way's bits are; without any bit one, that there is none.
std::uint64_t bits_compared(const Scenario& scenario, Direction direction);

}  // namespace sim
