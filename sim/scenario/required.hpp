#pragma once
// What is asked of the link: how fast it must be, and how seldom it may stop the plant for nothing.
#include <optional>

#include "proto/time.hpp"

namespace sim {

using proto::Duration;

/// What the safety function requires, stated before any watchdog: age and demand limits from sampling to output.
struct Required {
    std::optional<Duration> to_device;  ///< nothing: the bound computed from the settings is used, and this is said
    std::optional<Duration> to_controller;
    std::optional<Duration> overall = {};  ///< from the demand to the end of the hazard, sensor and stop included
};

/// How often a plant may stop for nothing.
struct TripLimit {
    double per_year = 0.1;  ///< above 0; unless stated one in ten years
    bool stated = false;
};

}  // namespace sim
