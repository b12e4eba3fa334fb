#include "tests/support/close.hpp"

#include <cmath>
#include <iomanip>
#include <sstream>

#include "proto/contract.hpp"

namespace tests {

Closeness::Closeness(double found, double expected, double relative)
    : found_(found), expected_(expected), relative_(relative) {
    proto::require(relative > 0.0 && relative < 1.0, "a check of closeness that cannot fail, or cannot pass");
    // the equality for infinities, whose difference is not a number
    close_ = found == expected || std::abs(found - expected) <= relative * std::abs(expected);
    if (std::isinf(found) || std::isinf(expected)) close_ = found == expected;
}

doctest::String toString(const Closeness& value) {
    std::ostringstream out;
    out << std::setprecision(15) << value.found_ << " found, " << value.expected_ << " expected: relative difference "
        << std::setprecision(3) << std::abs(value.found_ - value.expected_) / std::abs(value.expected_) << ", "
        << value.relative_ << " allowed";
    return out.str().c_str();
}

Closeness close_to(double found, double expected, double relative) { return {found, expected, relative}; }

}  // namespace tests
