#pragma once
// Independent bit errors: each bit is flipped with the same probability. Exact in distribution to within 2^-64 per
// threshold, and with one draw for a telegram in which nothing is flipped.
#include <cstdint>
#include <span>
#include <vector>

#include "proto/profile.hpp"

namespace sim {

class BitErrors {
  public:
    static constexpr unsigned bits_max = proto::telegram_bytes_max * 8;

    /// No errors.
    BitErrors() = default;
    bool operator==(const BitErrors&) const = default;
    /// Each bit is flipped with probability `rate`, 0..1. Made for telegrams of up to `bits` bits (at most bits_max).
    explicit BitErrors(double rate, unsigned bits = bits_max);
    /// From now on for telegrams of up to `bits` bits, as if it had been made for them: who seldom meets long ones need
    /// not prepare for them.
    void reach(unsigned bits);

    [[nodiscard]] bool any() const { return !within_.empty(); }

    /// Threshold of a 64-bit draw under which one of `bits` bits (as many as it is for) is flipped. Requires any().
    [[nodiscard]] std::uint64_t flip_within(unsigned bits) const { return within_[bits]; }

    /// Which of `bits` bits (as many as it is for) is the first that is flipped, or `bits` if none. Ask again for the
    /// bits behind it, with another draw. Requires any().
    [[nodiscard]] unsigned first_flip(std::uint64_t draw, unsigned bits) const;

    /// Flips bits of `bytes`. `draw` decides whether and where; further draws are derived from it. Returns how many.
    [[nodiscard]] unsigned bend(std::span<std::uint8_t> bytes, std::uint64_t draw) const;

  private:
    double rate_ = 0.0;
    double flipped_ = 0.0;               ///< probability of a flip within the bits that it is for
    std::vector<std::uint64_t> within_;  ///< [k]: threshold of "a flip within the first k bits", never falling
};

/// Flips the bit that is number `index` counted from the first byte's highest.
inline void flip(std::span<std::uint8_t> bytes, unsigned index) {
    std::uint8_t& byte = bytes[index / 8];
    byte = static_cast<std::uint8_t>(byte ^ (0x80U >> (index % 8)));
}

}  // namespace sim
