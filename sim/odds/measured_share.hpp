#pragma once
// What a file of measured times says by itself, without any model: how many of them are longer than what runs.
#include <cstdint>
#include <optional>

#include "sim/odds/link_model.hpp"

namespace sim {

struct MeasuredShare {
    std::uint64_t samples = 0;
    std::uint64_t longer = 0;      ///< too long for an exchange with that watchdog, even if it waited for no scan
    double low = 0.0, high = 0.0;  ///< of the share, two-sided 95 % (Clopper and Pearson, Biometrika 26, 1934)
    bool round_trips = false;      ///< else one way, the other at its shortest
};
/// Polled links; nothing where no delay was measured. Of both ways the one with more that are too long.
std::optional<MeasuredShare> measured_share(const LinkModel& link);

}  // namespace sim
