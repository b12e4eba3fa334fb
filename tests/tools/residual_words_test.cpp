#include "tools/residual/residual_words.hpp"

#include <doctest/doctest.h>

#include <cstdint>

namespace {

sim::ScaledReal ten_to_the(std::int64_t power) {
    const sim::ScaledReal one(1U), ten(10U);
    const sim::ScaledReal scale = power_of(ten, static_cast<std::uint64_t>(power < 0 ? -power : power));
    return power < 0 ? one / scale : scale;
}

}  // namespace

TEST_CASE("residual words: four digits, within a double's range and beyond it") {
    CHECK(tools::scientific(0.0) == "0");
    CHECK(tools::scientific(sim::ScaledReal()) == "0");
    CHECK(tools::scientific(sim::ScaledReal(0.00012345678)) == "1.2346e-04");
    for (const std::int64_t power : {-4000, -400, -324, -310, 309, 1000}) {
        const std::string exponent = (power < 0 ? "e-" : "e+") + std::to_string(power < 0 ? -power : power);
        CHECK(tools::scientific(ten_to_the(power)) == "1.0000" + exponent);
        CHECK(tools::scientific(ten_to_the(power) * sim::ScaledReal(1.23456)) == "1.2346" + exponent);
        CHECK(tools::scientific(ten_to_the(power) * sim::ScaledReal(9.99994)) == "9.9999" + exponent);
    }
    // rounded up to the next power of ten, at either end
    CHECK(tools::scientific(ten_to_the(-400) * sim::ScaledReal(9.99996)) == "1.0000e-399");
    CHECK(tools::scientific(ten_to_the(400) * sim::ScaledReal(9.99996)) == "1.0000e+401");
}
