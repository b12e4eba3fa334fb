#pragma once
// Distributions of delays as integer histograms: the only place where a formula becomes weights. Made with
// sim/numeric/portable_math.hpp, so the weights are the same on every machine.
//
// Each has at most 1024 cells, whose weights add up to exactly 2^40, up to where a share of 1e-6 lies above: a link's
// bounds can be set for it. What is above follows in cells of its own, up to where 1e-23 of all delays lie beyond: a
// year has 3e9 telegrams, and odds that end at one in a million are an artefact. The lower 1e-6 is spread over the rest
// in proportion, which makes delays longer. Real networks follow no formula: measure them.
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sim/scenario/channel.hpp"

namespace sim {

inline constexpr unsigned shape_cells = 1024;
inline constexpr std::uint64_t shape_weight = std::uint64_t{1} << 40;
/// Share of the delays below the cells, and above them.
inline constexpr double shape_cut = 1e-6;

/// Mean and standard deviation before cutting; nothing is below `floor`.
struct NormalDelay {
    Duration mean{}, deviation{}, floor{};
};
/// Requires 0 <= floor < mean + 4.7 deviations, deviation > 0, and less than a day in all.
DelayShape histogram_of(const NormalDelay& delay);

/// `offset` plus a value whose logarithm is normal with the standard deviation `sigma`; half are below `median`.
struct LognormalDelay {
    Duration offset{}, median{};
    double sigma = 0.0;
};
/// Requires offset >= 0, median > 0, 0.001 <= sigma <= 2, median <= 1 h.
DelayShape histogram_of(const LognormalDelay& delay);

/// `offset` plus a gamma distributed value of that mean. `alpha` is its shape: 1 is exponential, more is narrower.
struct GammaDelay {
    Duration offset{}, mean{};
    double alpha = 1.0;
};
/// Requires offset >= 0, mean > 0, 0.1 <= alpha <= 1000, mean <= 1 h.
DelayShape histogram_of(const GammaDelay& delay);

/// Names of the presets, for messages.
std::vector<std::string> delay_presets();
/// A preset by name. All are illustrations, not measurements of anybody's network.
std::optional<DelayShape> delay_preset(std::string_view name);

/// The distribution of delays that were seen: with up to 4096 different ones each is a cell of its own, else the 1024
/// longest are, and each other cell spans neighbours of about equal count; the series stays beside it. Requires at
/// least one, none negative.
DelayShape histogram_of_seen(const std::vector<Duration>& delays);

/// Of the way that has all that varies of round trips that were seen.
DelayShape histogram_of_round_trips(const std::vector<Duration>& round_trips, Direction late, std::string source);
/// Both ways of a channel that name the same round trips become the two of the same exchanges; those of a streaming
/// link, which have no exchanges, both keep all that varies, since nobody knows of which one it is.
void share_round_trips(DelayShape& to_device, DelayShape& to_controller);

}  // namespace sim
