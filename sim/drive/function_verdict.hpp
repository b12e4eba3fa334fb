#pragma once
// Whether each guard did what its safety functions ask of it, by what a run showed.
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "sim/judge/result.hpp"

namespace sim {

struct Scenario;
struct ScenarioLimits;

/// Fills in `function_rows` and `functions` from the demands of `result`, adds what was dangerous about them, and
/// remarks on what was not rehearsed. A demand shows nothing unless its link ran, the machine moved by itself alone and
/// no signal on its way was 0 already.
void judge_functions(const Scenario& scenario, const ScenarioLimits& limits, RunResult& result);

/// What is stated for each function, reaction and safeguard, reckoned once for many runs of a scenario. From the demand
/// on: the smaller of what the function states and of what its distance leaves; of a slowed run the distance says
/// nothing. A distance from reduced speed limits every demand: who comes at full speed has not been slowed for.
class StatedLimits {
  public:
    StatedLimits(const Scenario& scenario, bool distances_count);
    /// Nothing where nothing is stated. Requires a safeguard of that function.
    [[nodiscard]] std::optional<Duration> of(std::size_t function, std::size_t must,
                                             const std::string& safeguard) const;

  private:
    struct One {
        std::size_t function, must;
        std::string safeguard;
        std::optional<Duration> limit;
    };
    std::vector<One> all_;
};

/// The demands alone: `function_rows`, and what was dangerous about them, behind what was so already.
void judge_demands(const Scenario& scenario, const ScenarioLimits& limits, const StatedLimits& stated,
                   RunResult& result);

/// What a reader must know of a demand that took too long for that function; empty if nothing.
std::string at_full_speed(const Scenario& scenario, const DemandResult& demand, std::size_t which);

}  // namespace sim
