#include "sim/odds/state_reduction.hpp"

#include <algorithm>
#include <queue>
#include <utility>

namespace sim {

void ChainSums::add(const ChainSums& other, double factor) {
    time += factor * other.time;
    for (std::size_t i = 0; i < stops.size(); ++i) stops[i] += factor * other.stops[i];
    exchanges += factor * other.exchanges;
    bent_out += factor * other.bent_out;
    bent_back += factor * other.bent_back;
}

ChainOdds odds_of(const ChainSums& sums) {
    ChainOdds odds;
    odds.stops = sums.stops;
    for (double& one : odds.stops) one /= sums.time;
    odds.exchanges = sums.exchanges / sums.time;
    odds.bent_to_device = sums.bent_out / sums.time;
    odds.bent_to_controller = sums.bent_back / sums.time;
    odds.least = odds.most = odds.total();
    return odds;
}

std::size_t StateReduction::add_state() {
    nodes_.emplace_back();
    return nodes_.size() - 1;
}

void StateReduction::add_step(std::size_t from, std::size_t to, double probability) {
    if (!(probability > 0.0)) return;
    nodes_[from].steps.push_back({static_cast<std::uint32_t>(to), probability});
    nodes_[to].from.push_back(static_cast<std::uint32_t>(from));
}

void StateReduction::step(std::uint32_t from, std::uint32_t to, double probability) {
    std::vector<Step>& steps = nodes_[from].steps;
    const auto known = std::find_if(steps.begin(), steps.end(), [to](const Step& one) { return one.to == to; });
    if (known != steps.end()) {
        known->probability += probability;
        return;
    }
    steps.push_back({to, probability});
    nodes_[to].from.push_back(from);
}

std::uint64_t StateReduction::price_of(std::uint32_t state) const {
    const Node& node = nodes_[state];
    return std::uint64_t{node.from.size()} * node.steps.size();
}

bool StateReduction::take_out(std::uint32_t state, std::uint64_t& work) {
    Node& gone = nodes_[state];
    gone.out = true;
    double leaves = gone.stops;
    for (const Step& one : gone.steps)
        if (one.to != state) leaves += one.probability;
    for (const std::uint32_t from : gone.from) {
        Node& before = nodes_[from];
        if (before.out) continue;
        const auto to_it = std::find_if(before.steps.begin(), before.steps.end(),
                                        [state](const Step& one) { return one.to == state; });
        if (to_it == before.steps.end()) continue;
        if (!(leaves > 0.0)) return false;
        const double share = to_it->probability / leaves;
        *to_it = before.steps.back();
        before.steps.pop_back();
        before.sums.add(gone.sums, share);
        before.stops += share * gone.stops;
        for (const Step& one : gone.steps) {
            if (one.to == state) continue;
            step(from, one.to, share * one.probability);
            work += before.steps.size();
        }
    }
    gone.steps = {};
    gone.from = {};
    return true;
}

std::vector<bool> StateReduction::leading_to(std::vector<std::uint32_t> goals) const {
    std::vector<bool> found(nodes_.size(), false);
    for (const std::uint32_t goal : goals) found[goal] = true;
    while (!goals.empty()) {
        const std::uint32_t goal = goals.back();
        goals.pop_back();
        for (const std::uint32_t from : nodes_[goal].from) {
            if (found[from]) continue;
            found[from] = true;
            goals.push_back(from);
        }
    }
    return found;
}

void StateReduction::leave_out_what_never_stops() {
    std::vector<std::uint32_t> stopping, endless;
    for (std::size_t i = 0; i < nodes_.size(); ++i)
        if (nodes_[i].stops > 0.0) stopping.push_back(static_cast<std::uint32_t>(i));
    const std::vector<bool> stops = leading_to(std::move(stopping));
    for (std::size_t i = 0; i < nodes_.size(); ++i)
        if (!stops[i]) endless.push_back(static_cast<std::uint32_t>(i));
    const std::vector<bool> may_go_on = leading_to(std::move(endless));
    for (std::size_t i = 0; i < nodes_.size(); ++i) nodes_[i].out = may_go_on[i];
}

bool StateReduction::solve(std::size_t kept, std::uint64_t work_most) {
    leave_out_what_never_stops();
    // the cheapest first, by what it costs when its turn comes
    using Turn = std::pair<std::uint64_t, std::uint32_t>;
    std::priority_queue<Turn, std::vector<Turn>, std::greater<>> turns;
    for (std::size_t i = kept; i < nodes_.size(); ++i) {
        const auto state = static_cast<std::uint32_t>(i);
        if (!nodes_[i].out) turns.emplace(price_of(state), state);
    }
    std::uint64_t work = 0;
    while (!turns.empty()) {
        const auto [price, state] = turns.top();
        turns.pop();
        if (const std::uint64_t now = price_of(state); now > price) {
            turns.emplace(now, state);
            continue;
        }
        if (!take_out(state, work) || work > work_most) return false;
    }
    return until_stop_of_kept(kept, work);
}

bool StateReduction::until_stop_of_kept(std::size_t kept, std::uint64_t& work) {
    std::vector<ChainSums> found(kept);
    for (std::size_t i = 0; i < kept; ++i) {
        if (nodes_[i].out) continue;
        Node last = nodes_[i];
        if (!last.steps.empty()) {
            StateReduction rest;
            rest.nodes_.assign(nodes_.begin(), nodes_.begin() + static_cast<std::ptrdiff_t>(kept));
            for (Node& node : rest.nodes_)
                std::erase_if(node.from, [kept](std::uint32_t from) { return from >= kept; });
            for (std::size_t other = 0; other < kept; ++other)
                if (other != i && !rest.nodes_[other].out && !rest.take_out(static_cast<std::uint32_t>(other), work))
                    return false;
            last = rest.nodes_[i];
        }
        if (!(last.stops > 0.0)) return false;
        found[i].add(last.sums, 1.0 / last.stops);
    }
    for (std::size_t i = 0; i < kept; ++i)
        if (!nodes_[i].out) nodes_[i].sums = found[i];
    return true;
}

}  // namespace sim
