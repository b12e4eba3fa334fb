#include "sim/numeric/poisson_interval.hpp"

#include <cmath>

#include "sim/numeric/portable_math.hpp"

namespace sim {
namespace {

constexpr double tail = 0.025;
constexpr double z_of_tail = 1.959963984540054;  ///< normal_below(-z) == 0.025
constexpr std::uint64_t exact_up_to = 9000;

enum class Side : std::uint8_t { lower, upper };

/// Where a gamma variable of that shape has a tail on that side, by halving: gamma_below() falls nowhere.
double gamma_quantile(double shape, Side side) {
    double low = 0.0;
    double high = shape + 8.0 * std::sqrt(shape) + 20.0;
    for (int step = 0; step < 80 && high - low > 1e-13 * high; ++step) {
        const double middle = low + (high - low) / 2;
        const bool beyond = side == Side::upper ? gamma_above(shape, middle) < tail : gamma_below(shape, middle) > tail;
        (beyond ? high : low) = middle;
    }
    return low + (high - low) / 2;
}

double cube(double shape, double z) {
    const double root = 1.0 - 1.0 / (9.0 * shape) + z / (3.0 * std::sqrt(shape));
    return shape * root * root * root;
}

}  // namespace

Interval poisson_interval(std::uint64_t seen) {
    const auto count = static_cast<double>(seen);
    if (seen > exact_up_to) return {cube(count, -z_of_tail), cube(count + 1.0, z_of_tail)};
    return {seen == 0 ? 0.0 : gamma_quantile(count, Side::lower), gamma_quantile(count + 1.0, Side::upper)};
}

}  // namespace sim
