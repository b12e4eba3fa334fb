#pragma once
// The Internet checksum of RFC 1071, as IPv4 and UDP carry it.
#include <cstdint>
#include <cstring>
#include <span>

namespace sim {

/// The one's complement sum of 16-bit words, not yet complemented. Added up as the words lie in memory: by RFC 1071,
/// 2 (B), the sum is then right in the same byte order, and store() puts it back so.
class InternetSum {
  public:
    /// Requires that everything added before had an even number of bytes. At most 64 kB in all.
    void add(std::span<const std::uint8_t> bytes) {
        const std::uint8_t* at = bytes.data();
        std::size_t left = bytes.size();
        for (; left >= 4; left -= 4, at += 4) {
            std::uint32_t words = 0;
            std::memcpy(&words, at, 4);
            sum_ += words;
        }
        std::uint32_t rest = 0;  // a last odd byte is filled up with a zero
        if (left != 0) std::memcpy(&rest, at, left);
        sum_ += rest;
    }
    /// A 16-bit number, as it stands in a header.
    void add(std::uint16_t word) {
        const std::uint8_t bytes[2] = {static_cast<std::uint8_t>(word >> 8), static_cast<std::uint8_t>(word)};
        add(bytes);
    }
    /// Writes the checksum: two bytes.
    void store(std::uint8_t* at) const {
        const std::uint16_t value = complement();
        std::memcpy(at, &value, 2);
    }
    /// The same as UDP wants it (RFC 768): 0 would say that there is none, so all ones stand for it.
    void store_for_udp(std::uint8_t* at) const {
        std::uint16_t value = complement();
        if (value == 0) value = 0xFFFF;
        std::memcpy(at, &value, 2);
    }
    /// What was added includes a checksum, and it is right.
    [[nodiscard]] bool right() const { return complement() == 0; }

  private:
    [[nodiscard]] std::uint16_t complement() const {
        std::uint64_t folded = sum_;
        while (folded >> 16 != 0) folded = (folded & 0xFFFF) + (folded >> 16);
        return static_cast<std::uint16_t>(~folded);
    }
    std::uint64_t sum_ = 0;
};

}  // namespace sim
