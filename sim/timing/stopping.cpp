#include "sim/timing/stopping.hpp"

#include <algorithm>

#include "proto/contract.hpp"
#include "sim/numeric/random.hpp"
#include "sim/plant/machine.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/timing/minimum_distance.hpp"

namespace sim {
namespace {

/// The least number whose square is not below `square`; by halving, so that no rounding comes in.
std::uint64_t root_up(Wide square) {
    std::uint64_t low = 0, high = ~std::uint64_t{0};
    while (low < high) {
        const std::uint64_t middle = low + (high - low) / 2;
        if (static_cast<Wide>(middle) * middle >= square)
            high = middle;
        else
            low = middle + 1;
    }
    return low;
}

std::string_view words_for(StopCategory stop) {
    switch (stop) {
        case StopCategory::category_0: return "stop category 0";
        case StopCategory::category_1: return "stop category 1";
        case StopCategory::category_2: return "stop category 2";
        case StopCategory::reduced_speed: return "reduced speed";
    }
    return "?";
}

/// It is said that the reduced speed ends the hazard, by [stopping] or by some function.
bool said_to_end_hazard(const Scenario& scenario) {
    return scenario.stopping.reduced_speed_ends_hazard ||
           std::any_of(scenario.functions.begin(), scenario.functions.end(),
                       [](const SafetyFunction& function) { return function.reduced_speed_ends_hazard; });
}

std::string reduced_speed_mend(const Scenario& scenario, bool by_guard) {
    if (!scenario.machine->reduced_speed_monitor && said_to_end_hazard(scenario))
        return "write reduced_speed_monitored in [machine], since nothing monitors that speed";
    if (scenario.functions.empty()) return "write reduced_speed_ends_hazard = true in [stopping]";
    return std::string("write hazard_ends = \"reduced-speed\" in ") +
           (by_guard ? "its [[function]]" : "every [[function]], since a failing link strikes them all");
}

/// `speed`: how fast `machine` is at the output command, in words.
StoppingPart stop_of(const Scenario& scenario, const Machine& machine, const std::string& speed,
                     const MachineReaction& reaction, bool by_guard, ReducedSpeedEnds reduced) {
    const Stopping& may = scenario.stopping;
    StoppingPart part{.signal = reaction.signal,
                      .stop = reaction.stop,
                      .by_guard = by_guard,
                      .source = std::string(words_for(reaction.stop))};
    const Duration as_built = MachineModel::stopping_time(machine, reaction.stop);
    if (reaction.stop == StopCategory::category_0) {
        part.time = as_built;
        part.source += ": drive " + written(machine.reaction_delay) + ", then braking from " + speed;
        return part;
    }
    if (reaction.stop == StopCategory::category_2 && !may.standstill_monitored) {
        part.source +=
            ": after an error of the link it counts only with its standstill monitored; if it is, write "
            "standstill_monitored = true in [stopping]";
        return part;
    }
    if (reaction.stop == StopCategory::reduced_speed && !(by_guard ? reduced.by_guard : reduced.by_failure)) {
        part.source += ": it ends the hazard only where the risk assessment says so; if it does, " +
                       reduced_speed_mend(scenario, by_guard);
        return part;
    }
    if (may.ramp_monitored) {
        part.time = as_built;
        part.source += ": drive " + written(machine.reaction_delay) + ", then the ramp, which is monitored";
        return part;
    }
    if (machine.braking_um_s2 == 0) {
        part.source +=
            ": the ramp is not monitored, and nothing is known of a stop without it; write ramp_monitored = true in "
            "[stopping] if it is, else braking in [machine]";
        return part;
    }
    const Duration ramp = as_built - machine.reaction_delay;
    const Duration power_off = may.power_off_after.value_or(machine.reaction_delay + ramp);
    part.time = power_off + MachineModel::stopping_time(machine, StopCategory::category_0);
    part.source += ": the ramp is not monitored, so the power goes after " + written(power_off) +
                   ", and then a stop of category 0 from " + speed;
    return part;
}

/// The most severe of some reactions, or nullptr.
const StoppingPart* deciding(const std::vector<StoppingPart>& parts, bool only_by_guard) {
    const StoppingPart* most = nullptr;
    for (const StoppingPart& part : parts) {
        if (only_by_guard && !part.by_guard) continue;
        if (most == nullptr || command_of(part.stop) > command_of(most->stop)) most = &part;
    }
    return most;
}

/// The signal falls with the demand.
bool falls_by_guard(const Scenario& scenario, const std::string& signal, std::uint64_t by_guard) {
    for (std::size_t i = 0; i < scenario.signals.size(); ++i)
        if (scenario.signals[i].name == signal && (by_guard >> i & 1) != 0) return true;
    return false;
}

}  // namespace

StoppingTime stopping_of(const Scenario& scenario, std::uint64_t by_guard, ReducedSpeedEnds reduced,
                         std::optional<std::int64_t> from_um_s) {
    proto::require(scenario.machine.has_value(), "the stopping time of no machine");
    StoppingTime found;
    Machine machine = *scenario.machine;
    if (from_um_s) machine.speed_um_s = *from_um_s;
    const std::string speed = from_um_s ? written(micrometres(*from_um_s)) + "/s" : "full speed";
    for (const MachineReaction& reaction : scenario.machine->reactions) {
        const bool falls = falls_by_guard(scenario, reaction.signal, by_guard);
        found.parts.push_back(stop_of(scenario, machine, speed, reaction, falls, reduced));
    }
    bool countable = true;
    bool only_ramps_trusted = true;
    for (const bool only_by_guard : {true, false}) {
        const StoppingPart* part = deciding(found.parts, only_by_guard);
        if (part == nullptr) continue;
        const bool slows_only = !only_by_guard && part->stop == StopCategory::reduced_speed && !reduced.by_failure;
        if (part->time && slows_only) {
            countable = false;
            found.cautions.push_back(
                "Stop not counted, " + part->signal +
                ": an error of the link leads to a reduced speed only; if that ends every hazard, " +
                reduced_speed_mend(scenario, false) + ".");
            break;
        }
        if (!part->time) {
            countable = false;
            found.cautions.push_back("Stop not counted, " + part->signal + ": " + part->source + ".");
            break;
        }
        if (part->stop != StopCategory::category_0 && !scenario.stopping.ramp_monitored) only_ramps_trusted = false;
        found.time = std::max(found.time.value_or(Duration{}), *part->time);
    }
    if (!countable) {
        found.time = std::nullopt;
        return found;
    }
    if (scenario.stopping.measured.empty() || !found.time) return found;
    const Duration measured = stopping_time_of_measurements(scenario.stopping.measured);
    const std::string from = "The stopping time is that of " + std::to_string(scenario.stopping.measured.size()) +
                             " measurements, " + written(measured) +
                             ", the larger of their maximum and mean + 3 standard deviations";
    if (only_ramps_trusted || measured >= *found.time) {
        found.cautions.push_back(from + "; by the machine's own figures it would be " + written(*found.time) + ".");
        found.time = measured;
    } else {
        found.cautions.push_back("The ramp is not monitored, so " + written(*found.time) +
                                 " by the machine's figures count, not the measured " + written(measured) + ".");
    }
    return found;
}

Duration stopping_time_of_measurements(std::span<const Duration> times) {
    proto::require(times.size() >= 2 && times.size() <= 10'000, "a standard deviation of too few or too many");
    const auto n = static_cast<std::uint64_t>(times.size());
    std::uint64_t sum = 0;  // at most 10^4 * 3.6 * 10^12
    Wide squares = 0;       // at most 10^4 * 1.3 * 10^25
    Duration longest{};
    for (const Duration time : times) {
        proto::require(time.ns > 0 && time <= proto::seconds(3600), "a stopping time out of range");
        const auto ns = static_cast<std::uint64_t>(time.ns);
        sum += ns;
        squares += static_cast<Wide>(ns) * ns;
        longest = std::max(longest, time);
    }
    // mean + 3 s = (sum + 3 * sqrt(n * (n * squares - sum^2) / (n - 1))) / n; all inside the root is below 2^128.
    const Wide spread = squares * n - static_cast<Wide>(sum) * sum;
    const Wide inside = (spread * (Wide{9} * n) + (n - 2)) / (n - 1);  // rounded up
    const Wide top = static_cast<Wide>(sum) + root_up(inside);
    const auto three_sigma = static_cast<std::int64_t>((top + n - 1) / n);
    return std::max(longest, Duration{three_sigma});
}

}  // namespace sim
