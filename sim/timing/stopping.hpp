#pragma once
// How long the machine takes from the output command to the end of the hazard, counting only what may be counted.
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "sim/scenario/plant.hpp"

namespace sim {

struct Scenario;

/// What the machine does after the output command, for one of its reactions.
struct StoppingPart {
    std::string signal;
    StopCategory stop = StopCategory::category_0;
    bool by_guard = false;           ///< the guard's demand leads to it; an error of the link leads to all of them
    std::optional<Duration> time{};  ///< from the output command to harmless; nothing if it may not be counted
    std::string source;              ///< how it was reckoned, or why it may not be counted
};

struct StoppingTime {
    std::vector<StoppingPart> parts;
    std::optional<Duration> time;  ///< nothing if the stop that decides may not be counted
    std::vector<std::string> cautions;
};

/// Whether the hazard has ended at reduced speed.
struct ReducedSpeedEnds {
    bool by_guard = false;    ///< for who asked by that guard
    bool by_failure = false;  ///< after an error of the link, which strikes every function
};

/// `by_guard`: signals that fall with the guard's demand, one bit each. Requires a machine.
///
/// The most severe of the reactions decides, once for the guard's demand and once for an error of the link, after which
/// all signals are 0; the longer of the two counts. A ramp counts only if it is monitored: else the power goes after
/// it, and the machine then stops from full speed as in category 0. `from_um_s`: the speed at the output command, above
/// 0; nothing: full speed.
StoppingTime stopping_of(const Scenario& scenario, std::uint64_t by_guard, ReducedSpeedEnds reduced,
                         std::optional<std::int64_t> from_um_s = {});

/// The larger of the maximum and mean + 3 standard deviations (of a sample), rounded up to the nanosecond (ISO 13855,
/// from memory). Requires at least two times, each above 0 and at most an hour, and at most 10 000 of them.
Duration stopping_time_of_measurements(std::span<const Duration> times);

}  // namespace sim
