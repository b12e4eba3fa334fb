#include "sim/desk/desk_bench.hpp"

#include <algorithm>

#include "sim/desk/desk_run.hpp"

namespace sim {
namespace {

WholeCell cell_of(const Scenario& scenario) {
    WholeCell cell;
    cell.links.push_back({"", scenario, {}});
    return cell;
}

}  // namespace

DeskBench::DeskBench(const Scenario& scenario, std::uint64_t seed, Begin begin, DeskTrace* trace)
    : run_(std::make_unique<DeskRun>(cell_of(scenario), false, seed, begin, trace)) {}

DeskBench::DeskBench(const WholeCell& cell, std::uint64_t seed, Begin begin, DeskTrace* trace)
    : run_(std::make_unique<DeskRun>(cell, true, seed, begin, trace)) {}

DeskBench::~DeskBench() = default;

void DeskBench::run_until(Instant end) { run_->run_until(end); }

Instant DeskBench::now() const { return run_->now(); }

bool DeskBench::step(Instant limit) {
    const std::uint64_t before = run_->happenings();
    while (run_->now() < limit) {
        run_->run_past_next(limit);
        if (run_->happenings() != before) return true;
    }
    return false;
}

bool DeskBench::run_to_change(Instant limit) {
    const std::uint64_t before = run_->changes();
    while (run_->now() < limit) {
        run_->run_past_next(limit);
        if (run_->changes() != before) return true;
    }
    return false;
}

const std::vector<DeskAct>& DeskBench::acts() const { return run_->acts_; }

const std::deque<DeskEvent>& DeskBench::log() const { return run_->log_; }

void DeskBench::record_telegrams(bool each) {
    for (const auto& link : run_->links_) link->ear.telegrams().keep_each(each);
}

std::vector<DeskTelegram> DeskBench::telegrams() const {
    std::vector<DeskTelegram> all;
    for (const auto& link : run_->links_) {
        std::vector<DeskTelegram> of_link = link->ear.telegrams().all();
        all.insert(all.end(), std::make_move_iterator(of_link.begin()), std::make_move_iterator(of_link.end()));
    }
    const auto earlier = [](const DeskTelegram& a, const DeskTelegram& b) {
        return a.made != b.made ? a.made < b.made : a.id < b.id;
    };
    std::sort(all.begin(), all.end(), earlier);
    if (all.size() > telegrams_kept) all.erase(all.begin(), all.end() - static_cast<std::ptrdiff_t>(telegrams_kept));
    return all;
}

std::optional<DeskExplained> DeskBench::explain(std::uint64_t telegram) const {
    for (const auto& link : run_->links_)
        if (auto explained = link->ear.telegrams().explain(telegram)) return explained;
    return std::nullopt;
}

}  // namespace sim
