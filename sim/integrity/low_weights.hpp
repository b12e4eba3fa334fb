#pragma once
// The fewest wrong bits that a CRC of any width may miss, by direct search: partial sums of the remainders of x^i that
// meet in the middle. It shares nothing with the enumeration of the dual code.
#include <cstdint>
#include <vector>

#include "sim/integrity/weights.hpp"

namespace sim {

struct LowWeights {
    /// counts[k]: error patterns of k wrong bits that go unseen, for k = 0 up to the last weight searched.
    std::vector<WideNumber> counts;
    /// An unseen pattern of the fewest bits, of which bit 0 is one, by rising places; empty if none was found.
    std::vector<unsigned> example;

    [[nodiscard]] unsigned searched() const { return static_cast<unsigned>(counts.size()) - 1; }
    /// The lowest weight found, or 0.
    [[nodiscard]] unsigned lowest() const;
};

/// All weights up to `weight_max` for which the search stays under `sums_max` sums to look at.
struct SearchLimit {
    unsigned weight_max = 12;
    std::uint64_t sums_max = 40'000'000;
};

/// Requires n = data_bits + width up to 2^16. A weight that is left out for its cost ends the search, except that odd
/// weights cost nothing where x + 1 divides the generator.
LowWeights low_weights(const Generator& generator, unsigned data_bits, const SearchLimit& limit = {});

}  // namespace sim
