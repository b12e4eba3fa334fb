#pragma once
// How far a rate may be from what was counted.
#include <cstdint>

namespace sim {

struct Interval {
    double low = 0.0;
    double high = 0.0;
};

/// Two-sided interval of 95 % for the mean of a Poisson count of which `seen` is one outcome, 2.5 % at each side: exact
/// by the gamma distribution (Garwood, Biometrika 28, 1936) up to 9000, relative error below 1e-9. Above that by
/// Wilson and Hilferty's cube (Proceedings of the National Academy of Sciences 17, 1931), relative error below 1e-6.
Interval poisson_interval(std::uint64_t seen);

}  // namespace sim
