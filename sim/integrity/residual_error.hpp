#pragma once
// How likely it is that a telegram with wrong bits is taken for a good one, if each bit is wrong independently with
// probability p: the residual error probability R(p).
//
// All sums here are of terms that are not negative, in a type of 64 bits of mantissa and any range: 16 digits are
// right, down to 1e-300 and far beyond, and the same on every machine.
#include <cstdint>
#include <optional>
#include <vector>

#include "sim/integrity/low_weights.hpp"
#include "sim/integrity/weights.hpp"
#include "sim/numeric/scaled_real.hpp"

namespace sim {

/// A value and where it stands on the axis of bit error rates.
struct AtRate {
    double rate = 0;
    ScaledReal value;
};

/// R of a telegram of one copy, or of two copies that are compared bit by bit: then an error goes unseen only if it is
/// the same in both.
class ResidualError {
  public:
    /// `copies` is 1 or 2.
    explicit ResidualError(const WeightDistribution& weights, unsigned copies = 1);

    // 0 <= p <= 0.5
    [[nodiscard]] ScaledReal at(double p) const;
    /// The customary approximation: of all patterns of at least as many wrong bits as the Hamming distance, 2^-width go
    /// unseen. No upper bound, unless the code is proper.
    [[nodiscard]] ScaledReal customary(double p) const;
    /// R(p) over the probability that anything is wrong at all: of the wrong telegrams, the share that goes unseen.
    [[nodiscard]] ScaledReal of_the_wrong(double p) const;

    /// Largest R(p) over 0 < p <= 0.5: the best of a fine grid, then refined to six digits of p.
    [[nodiscard]] AtRate maximum() const;
    /// Largest of_the_wrong(p), likewise.
    [[nodiscard]] AtRate maximum_of_the_wrong() const;
    /// Largest factor by which R(p) is above the customary approximation; under 1 if it never is. From p = 1e-9 on.
    [[nodiscard]] AtRate worst_of_customary() const;
    /// Whether R rises all the way from p = 0 to 0.5, told from its slope on a grid of 4000 rates, and with it whether
    /// p = 0.5 is the worst.
    [[nodiscard]] bool proper() const;

  private:
    [[nodiscard]] ScaledReal sum(const std::vector<ScaledReal>& counts, double p) const;
    struct Above;
    /// R(p) - R(0.5), without cancellation where the two are nearly the same.
    [[nodiscard]] Above above_the_end(double p) const;

    unsigned width_, bits_, copies_;
    std::vector<ScaledReal> code_, all_, dual_;  ///< A_k but A_0; C(n, k) from the Hamming distance on; B_w but B_0
};

/// What the lowest weights alone say about R(p), for a CRC whose dual code is too large to list.
class ResidualBounds {
  public:
    ResidualBounds(const Generator& generator, unsigned data_bits, const LowWeights& low, unsigned copies = 1);

    /// The words that were counted.
    [[nodiscard]] ScaledReal at_least(double p) const;
    /// And of each weight beyond as many as can lie the Hamming distance apart: any k - ceil(d/2) + 1 places belong to
    /// one word of weight k at most (the packing bound of S. M. Johnson, 1962).
    [[nodiscard]] ScaledReal at_most(double p) const;
    /// As ResidualError::customary(), from the lowest weight found or the first one not searched.
    [[nodiscard]] ScaledReal customary(double p) const;

  private:
    [[nodiscard]] ScaledReal sum(const std::vector<ScaledReal>& counts, double p) const;
    unsigned width_, bits_, copies_;
    std::vector<ScaledReal> least_, most_, all_;
};

}  // namespace sim
