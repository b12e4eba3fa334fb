#pragma once
// Unsigned numbers as bytes, small ones as one: seven bits a byte, the lowest first, the highest bit where more follow.
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace sim {

inline void put_packed(std::vector<std::uint8_t>& into, std::uint64_t number) {
    for (; number >= 0x80; number >>= 7) into.push_back(static_cast<std::uint8_t>(number | 0x80));
    into.push_back(static_cast<std::uint8_t>(number));
}

/// The number at the front of `from`, which loses it; nothing if it ends before, or is longer than 64 bits.
inline std::optional<std::uint64_t> take_packed(std::span<const std::uint8_t>& from) {
    std::uint64_t value = 0;
    for (unsigned shift = 0; !from.empty() && shift < 64; shift += 7) {
        const std::uint64_t byte = from.front();
        from = from.subspan(1);
        if (shift == 63 && byte > 1) return std::nullopt;
        value |= (byte & 0x7F) << shift;
        if (byte < 0x80) return value;
    }
    return std::nullopt;
}

}  // namespace sim
