#include "tools/text/sha256.hpp"

#include <bit>
#include <cstddef>

namespace tools {
namespace {

constexpr std::size_t block_bytes = 64, length_at = 56;
using Words = std::array<std::uint32_t, 8>;

/// The first 32 bits of the fractional parts of the cube roots of the first 64 primes (section 4.2.2).
constexpr std::array<std::uint32_t, 64> constants{
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
    0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
    0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
    0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
    0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
    0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2};

/// Takes one block of 64 bytes in (section 6.2.2).
void take_in(Words& hash, const char* block) {
    std::array<std::uint32_t, 64> w{};
    for (std::size_t t = 0; t < 16; ++t)
        for (std::size_t byte = 0; byte < 4; ++byte)
            w[t] = w[t] << 8U | static_cast<unsigned char>(block[t * 4 + byte]);
    for (std::size_t t = 16; t < 64; ++t) {
        const std::uint32_t early = w[t - 15], late = w[t - 2];
        w[t] = w[t - 16] + (std::rotr(early, 7) ^ std::rotr(early, 18) ^ early >> 3U) + w[t - 7] +
               (std::rotr(late, 17) ^ std::rotr(late, 19) ^ late >> 10U);
    }
    auto [a, b, c, d, e, f, g, h] = hash;
    for (std::size_t t = 0; t < 64; ++t) {
        const std::uint32_t one =
            h + (std::rotr(e, 6) ^ std::rotr(e, 11) ^ std::rotr(e, 25)) + ((e & f) ^ (~e & g)) + constants[t] + w[t];
        const std::uint32_t two =
            (std::rotr(a, 2) ^ std::rotr(a, 13) ^ std::rotr(a, 22)) + ((a & b) ^ (a & c) ^ (b & c));
        h = g;
        g = f;
        f = e;
        e = d + one;
        d = c;
        c = b;
        b = a;
        a = one + two;
    }
    const Words more{a, b, c, d, e, f, g, h};
    for (std::size_t i = 0; i < hash.size(); ++i) hash[i] += more[i];
}

}  // namespace

Sha256 sha256(std::string_view bytes) {
    // of the square roots of the first eight primes (section 5.3.3)
    Words hash{0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a, 0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19};
    std::size_t at = 0;
    for (; at + block_bytes <= bytes.size(); at += block_bytes) take_in(hash, bytes.data() + at);
    std::string rest(bytes.substr(at));
    rest += '\x80';
    while (rest.size() % block_bytes != length_at) rest += '\0';
    const std::uint64_t bits = std::uint64_t{bytes.size()} * 8;
    for (unsigned shift = 64; shift > 0; shift -= 8) rest += static_cast<char>(bits >> (shift - 8) & 0xFFU);
    for (at = 0; at < rest.size(); at += block_bytes) take_in(hash, rest.data() + at);
    Sha256 result{};
    for (std::size_t i = 0; i < result.size(); ++i)
        result[i] = static_cast<std::uint8_t>(hash[i / 4] >> (24 - i % 4 * 8) & 0xFFU);
    return result;
}

std::string sha256_hex(std::string_view bytes) {
    constexpr std::string_view digits = "0123456789abcdef";
    std::string text;
    for (const std::uint8_t byte : sha256(bytes)) {
        text += digits[byte >> 4U];
        text += digits[byte & 15U];
    }
    return text;
}

}  // namespace tools
