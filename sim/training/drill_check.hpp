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

/// One thing that `[expect]` says, and what came of it.
struct Promise {
    std::string key;  ///< below `[expect]`: "controller.state"
    std::string promised, shown;
    bool kept = true;
    std::string broken;   ///< a sentence, if it is not kept
    std::string as_seen;  ///< how the key would have to stand for it to be kept: "request = true"
};

/// All that the drill promises, beside what `bench`, from bench_of(), shows. A key that is not written promises what it
/// stands for: no request, a machine at rest, no rejected telegram.
std::vector<Promise> promises_of(const Drill& drill, const Bench& bench);

/// Each promise that is not kept, as a sentence; empty if all are.
std::vector<std::string> broken_promises(const Drill& drill, const Bench& bench);

}  // namespace sim
