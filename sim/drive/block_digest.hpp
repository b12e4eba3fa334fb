#pragma once
// The fingerprint of a campaign: of each block of 65 536 trials (block = number of the trial / 65 536) the sum of what
// its trials come to, modulo 2^64, and over the blocks in the order of their number a chain. So parts of a campaign are
// joined by their blocks alone, also where two share one; and where two runs differ, their blocks tell where.
#include <cstdint>

namespace sim {

inline constexpr std::uint64_t block_trials = 65'536;

/// What is known of one block, or of a part of it.
struct DigestBlock {
    std::uint64_t number = 0;
    std::uint64_t trials = 0;
    std::uint64_t sum = 0;
    friend bool operator==(const DigestBlock&, const DigestBlock&) = default;
};

class BlockDigest {
  public:
    /// The next piece: of the current block, or of a later one.
    void add(const DigestBlock& piece);
    /// Of all so far; more may follow. 0 before the first.
    [[nodiscard]] std::uint64_t value() const;

  private:
    static std::uint64_t chained(std::uint64_t chain, const DigestBlock& block);
    std::uint64_t chain_ = 0;  ///< over the blocks before the current one
    DigestBlock current_;      ///< without trials: none yet
};

}  // namespace sim
