#pragma once
// SHA-256 (FIPS 180-4, August 2015, sections 4.1.2, 5.1.1, 5.3.3 and 6.2). Written here, tested with the standard's own
// examples and beside Python's: one short function without keys, for which every computer with linkdrill would
// otherwise load a whole library of ciphers.
#include <array>
#include <cstdint>
#include <string>
#include <string_view>

namespace tools {

using Sha256 = std::array<std::uint8_t, 32>;
/// Of these bytes.
Sha256 sha256(std::string_view bytes);
/// The same as 64 digits, small letters.
std::string sha256_hex(std::string_view bytes);

}  // namespace tools
