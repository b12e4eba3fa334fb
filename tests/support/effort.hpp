#pragma once
// How much the long tests do. LINKDRILL_DEPTH is the depth of the exhaustive walks, 6 if unset; each step below 6 also
// divides the number of random runs by ten. Builds with sanitizers, some ten times slower, use 4 (tests/check.cmake).
#include <cstdint>

namespace tests {

unsigned depth_wanted();
/// `full` runs at depth 6, at least 100.
std::uint64_t runs_wanted(std::uint64_t full);

/// `full` cycles of a long comparison if LINKDRILL_LONG is set, else `usual`; a tenth of that for each step of the
/// depth below 6.
std::uint64_t cycles_wanted(std::uint64_t usual, std::uint64_t full);

/// Random draws that are the same everywhere: Sebastiano Vigna's public-domain SplitMix64.
class Draws {
  public:
    explicit Draws(std::uint64_t seed) : state_(seed) {}
    std::uint64_t next() {
        std::uint64_t z = state_ += 0x9E3779B97F4A7C15ULL;
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
        return z ^ (z >> 31);
    }
    /// 0..`below`-1, from the upper 32 bits; the bias of under 2^-20 for the small numbers here does not matter.
    std::uint32_t below(std::uint32_t limit) { return static_cast<std::uint32_t>(((next() >> 32) * limit) >> 32); }
    std::int64_t between(std::int64_t low, std::int64_t high) {
        return low + static_cast<std::int64_t>(next() % static_cast<std::uint64_t>(high - low + 1));
    }
    bool one_in(std::uint32_t count) { return below(count) == 0; }

  private:
    std::uint64_t state_;
};

}  // namespace tests
