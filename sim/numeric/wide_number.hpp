#pragma once
// Whole numbers of any length, not negative: as many as the code words of one weight can be.
#include <cstdint>
#include <string>
#include <vector>

#include "sim/numeric/scaled_real.hpp"

namespace sim {

class WideNumber {
  public:
    WideNumber() = default;
    explicit WideNumber(std::uint64_t value);
    /// Least significant word first; zeros at the end do not matter.
    explicit WideNumber(std::vector<std::uint64_t> words);

    [[nodiscard]] bool is_zero() const { return words_.empty(); }
    [[nodiscard]] const std::vector<std::uint64_t>& words() const { return words_; }
    /// In decimal, without leading zeros.
    [[nodiscard]] std::string decimal() const;
    /// Within one unit of the last digit.
    [[nodiscard]] ScaledReal approximate() const;

    WideNumber& operator+=(const WideNumber& other);
    friend bool operator==(const WideNumber&, const WideNumber&) = default;

  private:
    void trim();
    std::vector<std::uint64_t> words_;  ///< the last is not 0
};

/// 2^exponent.
WideNumber power_of_two(unsigned exponent);

}  // namespace sim
