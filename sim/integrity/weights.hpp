#pragma once
// The exact weight distribution of a CRC: how many error patterns of each number of wrong bits it does not see.
//
// Data and CRC together are n bits. A pattern of wrong bits goes unseen exactly if it is a code word: a multiple of the
// generator. There are 2^data of them, too many to list; but only 2^width words are orthogonal to all of them (the dual
// code), and MacWilliams' identity (F. J. MacWilliams, 1963) turns the weights of one code into those of the other, in
// whole numbers and without rounding.
#include <atomic>
#include <cstdint>
#include <functional>
#include <optional>
#include <vector>

#include "sim/integrity/dual_kernel.hpp"
#include "sim/numeric/wide_number.hpp"

namespace sim {

/// A CRC as far as errors are concerned: initial value, final xor and reflection change no weight.
struct Generator {
    unsigned width = 0;            ///< 1..64
    std::uint64_t polynomial = 0;  ///< normal notation, without the leading term; its constant term is 1
    friend bool operator==(const Generator&, const Generator&) = default;
};

/// Widest CRC whose dual words can be listed.
inline constexpr unsigned exact_width_max = 32;
/// Most bits of data and CRC together.
inline constexpr unsigned code_bits_max = dual::window_max;

/// How to go about it; the result is the same.
struct Effort {
    unsigned threads = 1;
    dual::Kernel kernel = dual::best_kernel();
    /// Told now and then, by one thread, what share is done, 0..1.
    std::function<void(double)> progress = {};
};

/// How many words of the dual code have each weight 0..n. Requires a width up to exact_width_max and n = data_bits +
/// width up to code_bits_max. The sum is 2^width.
std::vector<std::uint64_t> dual_weights(const Generator& generator, unsigned data_bits, const Effort& effort = {});

/// The same, word by word in the order of a Gray code: slower by ten and more, and nothing in common with the other.
std::vector<std::uint64_t> dual_weights_by_gray_code(const Generator& generator, unsigned data_bits,
                                                     const Effort& effort = {});

struct WeightDistribution {
    Generator generator;
    unsigned data_bits = 0;
    std::vector<std::uint64_t> dual;  ///< B_0 .. B_n
    std::vector<WideNumber> code;     ///< A_0 .. A_n; A_0 = 1 is the pattern without errors

    [[nodiscard]] unsigned bits() const { return data_bits + generator.width; }
    /// Fewest wrong bits that may go unseen; n + 1 if there is no code word at all but 0.
    [[nodiscard]] unsigned hamming_distance() const;
};

/// From the dual's weights, wherever they come from; nothing if they cannot be those of this code: the sum, whole
/// numbers, and the lowest weights by direct search are looked at.
std::optional<WeightDistribution> distribution_from(const Generator& generator, unsigned data_bits,
                                                    std::vector<std::uint64_t> dual);

/// Lists the dual code and transforms. The requirements of dual_weights(). 0.1 s to half a second for 32 bits.
WeightDistribution weight_distribution(const Generator& generator, unsigned data_bits, const Effort& effort = {});

}  // namespace sim
