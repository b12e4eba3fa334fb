#pragma once
// Whole numbers in byte sequences, most significant byte first unless said otherwise.
#include <cstddef>
#include <cstdint>
#include <cstring>

namespace proto {

/// Eight bytes at `from`, first byte highest.
inline std::uint64_t load_be64(const std::uint8_t* from) {
    std::uint64_t value = 0;
    std::memcpy(&value, from, 8);
    return __builtin_bswap64(value);
}

inline void store_be64(std::uint8_t* to, std::uint64_t value) {
    value = __builtin_bswap64(value);
    std::memcpy(to, &value, 8);
}

/// `count` (0..8) bytes at `from`, first byte highest.
inline std::uint64_t load_be(const std::uint8_t* from, unsigned count) {
    std::uint64_t value = 0;
    for (unsigned i = 0; i < count; ++i) value = value << 8 | from[i];
    return value;
}

/// The lowest `count` (0..8) bytes of `value`, highest first.
inline void store_be(std::uint8_t* to, std::uint64_t value, unsigned count) {
    for (unsigned i = 0; i < count; ++i) to[i] = static_cast<std::uint8_t>(value >> (8 * (count - 1 - i)));
}

/// `count` (0..8) bytes at `from`, first byte lowest.
inline std::uint64_t load_le(const std::uint8_t* from, unsigned count) {
    std::uint64_t value = 0;
    for (unsigned i = count; i-- > 0;) value = value << 8 | from[i];
    return value;
}

inline void store_le(std::uint8_t* to, std::uint64_t value, unsigned count) {
    for (unsigned i = 0; i < count; ++i) to[i] = static_cast<std::uint8_t>(value >> (8 * i));
}

/// Copies `count` bytes that do not overlap. Telegrams are short: a call of memcpy would take longer than the words.
inline void copy_short(std::uint8_t* to, const std::uint8_t* from, std::size_t count) {
    if (count < 8) {
        for (std::size_t i = 0; i < count; ++i) to[i] = from[i];
        return;
    }
    std::size_t at = 0;
    for (; at + 8 <= count; at += 8) std::memcpy(to + at, from + at, 8);
    if (at != count) std::memcpy(to + count - 8, from + count - 8, 8);
}

/// Whether `count` bytes are the same; for short ones, as above.
inline bool same_short(const std::uint8_t* a, const std::uint8_t* b, std::size_t count) {
    const auto word = [](const std::uint8_t* from) {
        std::uint64_t value = 0;
        std::memcpy(&value, from, 8);
        return value;
    };
    if (count < 8) {
        unsigned differs = 0;
        for (std::size_t i = 0; i < count; ++i) differs |= static_cast<unsigned>(a[i] ^ b[i]);
        return differs == 0;
    }
    std::uint64_t differs = word(a + count - 8) ^ word(b + count - 8);
    for (std::size_t at = 0; at + 8 <= count; at += 8) differs |= word(a + at) ^ word(b + at);
    return differs == 0;
}

/// The lowest `bits` (0..32) bits set.
constexpr std::uint32_t low_mask(unsigned bits) {
    return bits >= 32 ? ~std::uint32_t{0} : (std::uint32_t{1} << bits) - 1;
}

}  // namespace proto
