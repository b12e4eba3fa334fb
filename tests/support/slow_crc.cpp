#include "tests/support/slow_crc.hpp"

#include <algorithm>
#include <cstddef>

namespace tests {
namespace {

/// `count` bits, the most significant one first.
Bits written_out(std::uint64_t value, unsigned count) {
    Bits bits;
    for (unsigned i = count; i > 0; --i) bits.push_back(((value >> (i - 1)) & 1) != 0);
    return bits;
}

std::uint64_t read_back(const Bits& bits) {
    std::uint64_t value = 0;
    for (const bool bit : bits) value = 2 * value + (bit ? 1 : 0);
    return value;
}

}  // namespace

Bits bits_in_order(const proto::CrcSpec& spec, std::span<const std::uint8_t> bytes) {
    Bits all;
    for (const std::uint8_t byte : bytes) {
        Bits one = written_out(byte, 8);
        if (spec.reflect_in) std::reverse(one.begin(), one.end());
        all.insert(all.end(), one.begin(), one.end());
    }
    return all;
}

Bits bits_in_order(const proto::CrcSpec& spec, std::uint64_t value) {
    Bits bits = written_out(value, spec.width);
    if (spec.reflect_out) std::reverse(bits.begin(), bits.end());
    return bits;
}

std::uint64_t slow_crc(const proto::CrcSpec& spec, const Bits& message) {
    // The dividend: the message, then as many zeros as the CRC has bits. The initial value inverts its first bits.
    Bits dividend = message;
    dividend.insert(dividend.end(), spec.width, false);
    const Bits initial = written_out(spec.initial, spec.width);
    for (std::size_t i = 0; i < spec.width; ++i) dividend[i] = dividend[i] != initial[i];

    Bits divisor = written_out(spec.polynomial, spec.width);
    divisor.insert(divisor.begin(), true);  // the leading term, which the notation leaves out

    for (std::size_t at = 0; at < message.size(); ++at) {
        if (!dividend[at]) continue;
        for (std::size_t i = 0; i < divisor.size(); ++i) dividend[at + i] = dividend[at + i] != divisor[i];
    }

    Bits remainder(dividend.end() - static_cast<std::ptrdiff_t>(spec.width), dividend.end());
    if (spec.reflect_out) std::reverse(remainder.begin(), remainder.end());
    return read_back(remainder) ^ spec.final_xor;
}

std::uint64_t slow_crc(const proto::CrcSpec& spec, std::span<const std::uint8_t> bytes) {
    return slow_crc(spec, bits_in_order(spec, bytes));
}

}  // namespace tests
