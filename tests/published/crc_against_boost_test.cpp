// The engine against boost::crc_basic (Boost 1.74, boost/crc.hpp): an implementation by other hands, on random
// parameters and messages. Widths 8, 16, 24, 32, 64 and every combination of reflections.
#include <doctest/doctest.h>

#include <boost/crc.hpp>
#include <cstddef>
#include <cstdint>
#include <random>
#include <vector>

#include "proto/crc.hpp"

namespace {

template <std::size_t width>
void compare_with_boost(std::mt19937_64& draws) {
    constexpr std::uint64_t ones = ~std::uint64_t{0} >> (64 - width);
    for (unsigned reflections = 0; reflections < 4; ++reflections) {
        for (int repeat = 0; repeat < 40; ++repeat) {
            const proto::CrcSpec spec{.width = width,
                                      .polynomial = (draws() & ones) | 1,
                                      .initial = draws() & ones,
                                      .reflect_in = (reflections & 1) != 0,
                                      .reflect_out = (reflections & 2) != 0,
                                      .final_xor = draws() & ones};
            std::vector<std::uint8_t> message(draws() % 100);
            for (std::uint8_t& byte : message) byte = static_cast<std::uint8_t>(draws() >> 56);

            using Boost = boost::crc_basic<width>;
            using Value = typename Boost::value_type;
            Boost theirs(static_cast<Value>(spec.polynomial), static_cast<Value>(spec.initial),
                         static_cast<Value>(spec.final_xor), spec.reflect_in, spec.reflect_out);
            theirs.process_bytes(message.data(), message.size());

            CAPTURE(width);
            CAPTURE(reflections);
            CAPTURE(spec.polynomial);
            CAPTURE(message.size());
            CHECK(proto::CrcEngine::make(spec).value().over(message) == std::uint64_t{theirs.checksum()});
        }
    }
}

}  // namespace

TEST_CASE("the engine agrees with boost::crc on random parameters and messages") {
    std::mt19937_64 draws(1974);
    compare_with_boost<8>(draws);
    compare_with_boost<16>(draws);
    compare_with_boost<24>(draws);
    compare_with_boost<32>(draws);
    compare_with_boost<64>(draws);
}
