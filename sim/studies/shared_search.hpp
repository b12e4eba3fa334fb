#pragma once
// The parts of a search, shared by as many threads as were asked for.
#include <algorithm>
#include <atomic>
#include <cstdint>
#include <string>

#include "sim/numeric/helping_threads.hpp"
#include "sim/scenario/contract_context.hpp"

namespace sim {

/// Calls `work(part)` once for every part of 0 to `count` - 1, on `jobs` threads, this one among them, in no order: the
/// parts must not depend on each other. A broken contract names `file` and `seed`.
template <class Work>
void share_parts(unsigned jobs, std::uint64_t count, const std::string& file, std::uint64_t seed, const Work& work) {
    std::atomic<std::uint64_t> next{0};
    const auto run = [&] {
        const ContractContext context(file, seed);
        for (std::uint64_t i = next++; i < count; i = next++) work(i);
    };
    const HelpingThreads others(std::max(jobs, 1U) - 1, run);
    run();
}

}  // namespace sim
