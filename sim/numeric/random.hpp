#pragma once
// Counter-based draws: a value depends on the key and a count only, never on what was drawn before. One key per
// concern, so that adding one concern changes no draw of another.
#include <cstdint>

namespace sim {

__extension__ typedef unsigned __int128 Wide;  // NOLINT(modernize-use-using): `using` would not take __extension__

/// The upper half of a product: `draw`, even on 64 bits, becomes even on 0..below-1.
constexpr std::uint64_t scale(std::uint64_t draw, std::uint64_t below) {
    return static_cast<std::uint64_t>((static_cast<Wide>(draw) * below) >> 64);
}

/// Scrambles 64 bits (the finaliser of SplitMix64: Steele, Lea, Flood, OOPSLA 2014).
constexpr std::uint64_t scramble(std::uint64_t z) {
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
    return z ^ (z >> 31);
}

/// What a stream of draws is for.
enum class Concern : std::uint64_t {
    delay = 1,
    loss,
    bit_errors,
    fault_place,
    fault_extra,
    entropy,
    stray,
    payload,
    phase,
    trial,
    delay_extra,
    burst_state,
    burst_loss,
    background,
    jump,
    chunk,
    exam,
};

class Random {
  public:
    constexpr Random() = default;
    constexpr Random(std::uint64_t seed, Concern concern, std::uint64_t part = 0)
        : key_(scramble(scramble(seed + 0x9E3779B97F4A7C15ULL * static_cast<std::uint64_t>(concern)) ^
                        scramble(part + 0x632BE59BD9B4E019ULL))) {}

    /// 64 evenly distributed bits, the n-th of the stream.
    [[nodiscard]] constexpr std::uint64_t at(std::uint64_t n) const {
        return scramble(key_ + n * 0x9E3779B97F4A7C15ULL);
    }
    /// Even on 0..below-1 (bias under 2^-32 for below < 2^32); requires below > 0.
    [[nodiscard]] constexpr std::uint64_t below(std::uint64_t n, std::uint64_t below) const {
        return scale(at(n), below);
    }

  private:
    std::uint64_t key_ = 0;
};

/// A probability as the threshold of a 64-bit draw: it happens if the draw is below. Exact products only, no libm.
constexpr std::uint64_t threshold(double probability) {
    if (!(probability > 0.0)) return 0;
    if (probability >= 1.0) return ~std::uint64_t{0};
    return static_cast<std::uint64_t>(probability * 18446744073709551616.0);
}

/// Whether a draw falls under a threshold(). A threshold of all ones is certain: a lossy channel with probability 1
/// lets nothing through, not one in 2^64.
constexpr bool happens(std::uint64_t draw, std::uint64_t threshold) {
    return draw < threshold || threshold == ~std::uint64_t{0};
}

}  // namespace sim
