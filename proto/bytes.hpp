#pragma once
// Whole numbers in byte sequences, most significant byte first unless said otherwise.
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

/// The lowest `bits` (0..32) bits set.
constexpr std::uint32_t low_mask(unsigned bits) {
    return bits >= 32 ? ~std::uint32_t{0} : (std::uint32_t{1} << bits) - 1;
}

}  // namespace proto
