#pragma once
// Whether a drill shows what it promises: it is run, and each end is read as a technician would read it.
#include <memory>
#include <string>
#include <vector>

#include "sim/training/bench.hpp"
#include "sim/training/drill.hpp"

namespace sim {

/// The drill's bench at the moment at which the trainee comes to it.
std::unique_ptr<Bench> bench_of(const Drill& drill, std::uint64_t seed);

/// Each promise that `bench`, from bench_of(), does not keep, as a sentence; empty if it keeps them all.
std::vector<std::string> broken_promises(const Drill& drill, const Bench& bench);

}  // namespace sim
