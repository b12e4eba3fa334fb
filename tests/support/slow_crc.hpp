#pragma once
// A CRC as the textbook defines it, to test the fast engine against: the message as a string of bits, divided by the
// polynomial with pencil and paper. No register, no table, no alignment: it shares no idea with proto/crc.cpp.
#include <cstdint>
#include <span>
#include <vector>

#include "proto/crc.hpp"

namespace tests {

using Bits = std::vector<bool>;

/// The message's bits in the order in which the CRC takes them: each byte's least significant bit first if `spec`
/// reflects its input.
Bits bits_in_order(const proto::CrcSpec& spec, std::span<const std::uint8_t> bytes);

/// A value's bits in the order in which they follow the message on the line. Requires reflect_in == reflect_out.
Bits bits_in_order(const proto::CrcSpec& spec, std::uint64_t value);

/// The CRC of a message of any number of bits. `spec` must be one that CrcEngine::make takes.
std::uint64_t slow_crc(const proto::CrcSpec& spec, const Bits& message);
std::uint64_t slow_crc(const proto::CrcSpec& spec, std::span<const std::uint8_t> bytes);

}  // namespace tests
