// The comparison that other tests rest on: it must be able to fail, for tiny values too.
#include <doctest/doctest.h>

#include <limits>
#include <string>

#include "tests/support/close.hpp"

namespace {

bool close(double found, double expected, double relative) {
    return static_cast<bool>(tests::close_to(found, expected, relative));
}

}  // namespace

TEST_CASE("close_to is relative, however small or large the values") {
    for (const double size : {1e-300, 9e-20, 1e-9, 1.0, 1e9, 1e300}) {
        CAPTURE(size);
        CHECK(close(size, size, 1e-15));
        CHECK(close(size * (1.0 + 0.9e-9), size, 1e-9));
        CHECK(close(-size * (1.0 - 0.9e-9), -size, 1e-9));
        CHECK_FALSE(close(size * (1.0 + 1.1e-9), size, 1e-9));
        CHECK_FALSE(close(size * (1.0 - 1.1e-9), size, 1e-9));
        CHECK_FALSE(close(-size, size, 0.99));
        CHECK_FALSE(close(0.0, size, 0.99));
    }
    CHECK_FALSE(close(1e-13, 9e-20, 1e-9));
}

TEST_CASE("close_to: 0, infinity and what is not a number") {
    constexpr double infinity = std::numeric_limits<double>::infinity(),
                     none = std::numeric_limits<double>::quiet_NaN();
    CHECK(close(0.0, 0.0, 1e-9));
    CHECK_FALSE(close(1e-300, 0.0, 1e-9));
    CHECK(close(infinity, infinity, 1e-9));
    CHECK_FALSE(close(1e300, infinity, 1e-9));
    CHECK_FALSE(close(infinity, 1e300, 1e-9));
    CHECK_FALSE(close(-infinity, infinity, 1e-9));
    CHECK_FALSE(close(none, 1.0, 1e-9));
    CHECK_FALSE(close(1.0, none, 1e-9));
    CHECK_FALSE(close(none, none, 1e-9));
}

TEST_CASE("close_to says both values, how far apart they are and how far they may be") {
    CHECK(std::string(toString(tests::close_to(1.5e-9, 1e-9, 1e-6)).c_str()) ==
          "1.5e-09 found, 1e-09 expected: relative difference 0.5, 1e-06 allowed");
}
