#pragma once
// Mean time and mean numbers of events until a chain stops, by taking out one state after the other. Nothing is ever
// subtracted (Grassmann, Taksar and Heyman, Operations Research 33, 1985), so a figure is exact to some thousand
// rounding errors of itself however rare stops are, and however slowly the chain mixes.
#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "sim/odds/chain_odds.hpp"

namespace sim {

/// What is added up over the way from a state to its stop.
struct ChainSums {
    double time = 0.0;  ///< cycles of a running link
    std::array<double, stop_cause_count> stops{};
    double exchanges = 0.0, bent_out = 0.0, bent_back = 0.0;

    [[nodiscard]] double total_stops() const {
        double sum = 0.0;
        for (const double one : stops) sum += one;
        return sum;
    }
    /// Adds `factor` times the other.
    void add(const ChainSums& other, double factor);
};

/// Stops, and what else is told, by cycle: of a way from a start up to its stop or of a stretch of cycles. Requires
/// some time.
ChainOdds odds_of(const ChainSums& sums);

class StateReduction {
  public:
    /// A state with what happens in it once; its steps to other states are added to it.
    std::size_t add_state();
    [[nodiscard]] ChainSums& sums_of(std::size_t state) { return nodes_[state].sums; }
    /// Of stopping in one step from it, in all causes together.
    void add_stop(std::size_t state, double probability) { nodes_[state].stops += probability; }
    /// States are added before steps to them. A step from a state to the same other one is added once.
    void add_step(std::size_t from, std::size_t to, double probability);
    [[nodiscard]] std::size_t size() const { return nodes_.size(); }

    /// From each state up to its stop. The states kept are the first `kept`; all others are taken out. False if that
    /// takes more than `work_most` steps.
    bool solve(std::size_t kept, std::uint64_t work_most);
    /// After solve(), of one of the kept; nullptr if it may run for ever.
    [[nodiscard]] const ChainSums* until_stop(std::size_t state) const {
        return nodes_[state].out ? nullptr : &nodes_[state].sums;
    }

  private:
    struct Step {
        std::uint32_t to;
        double probability;
    };
    struct Node {
        std::vector<Step> steps;
        std::vector<std::uint32_t> from;  ///< those with a step to it, some perhaps twice or no longer
        ChainSums sums;
        double stops = 0.0;
        bool out = false;
    };
    /// Of those from which a path leads to one of `goals`, these included.
    [[nodiscard]] std::vector<bool> leading_to(std::vector<std::uint32_t> goals) const;
    /// What may go on without ever stopping has no mean, and is out.
    void leave_out_what_never_stops();
    void step(std::uint32_t from, std::uint32_t to, double probability);
    [[nodiscard]] std::uint64_t price_of(std::uint32_t state) const;
    /// Its predecessors step past it; false if it leads nowhere.
    bool take_out(std::uint32_t state, std::uint64_t& work);
    /// Of those that are left.
    bool until_stop_of_kept(std::size_t kept, std::uint64_t& work);

    std::vector<Node> nodes_;
};

}  // namespace sim
