#pragma once
// Whether the measured delays of a channel depend on their neighbours, and how many telegrams have to stay together for
// odds to hold what comes with that.
#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "sim/numeric/dependence.hpp"

namespace sim {

struct Scenario;

struct Neighbours {
    std::array<std::optional<Dependence>, 2> ways;  ///< by Direction; nothing where nothing was measured
    /// By Direction: telegrams of a block, 0 where each delay may be drawn alone. What a scenario says itself stands
    /// before it.
    std::array<std::uint64_t, 2> blocks{};
    std::array<bool, 2> typed{};  ///< they are what the scenario says
    bool same_series = false;     ///< both ways of one file
};
Neighbours neighbours_of(const Scenario& scenario);

/// What was found, a sentence for each way that was measured.
std::vector<std::string> in_words(const Neighbours& found);

}  // namespace sim
