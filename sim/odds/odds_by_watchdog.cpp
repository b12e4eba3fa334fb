#include "sim/odds/odds_by_watchdog.hpp"

#include <algorithm>
#include <memory>

#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

std::array<std::uint64_t, 2> blocks_of(const Scenario& scenario, std::array<std::uint64_t, 2> wanted) {
    const DelayShape* const ways[] = {&scenario.to_device.delay, &scenario.to_controller.delay};
    for (std::size_t i = 0; i < wanted.size(); ++i) {
        if (ways[i]->block != 0) wanted[i] = ways[i]->block;
        if (!ways[i]->series) wanted[i] = 0;
    }
    return wanted;
}

LinkModel in_blocks_of(const Scenario& scenario, std::array<std::uint64_t, 2> blocks) {
    LinkModel link = model_of(scenario);
    link.to_device.channel.delay.block = blocks[static_cast<std::size_t>(Direction::to_device)];
    link.to_controller.channel.delay.block = blocks[static_cast<std::size_t>(Direction::to_controller)];
    return link;
}

RareEnough alone_rare_enough(const TripOdds& odds, double limit_per_year) {
    if (odds.high && *odds.high <= limit_per_year) return RareEnough::yes;
    if (odds.low > limit_per_year) return RareEnough::no;
    const bool as_described = odds.high_as_described && *odds.high_as_described <= limit_per_year;
    return as_described || !odds.high || !odds.claimed ? RareEnough::cannot_be_told : RareEnough::no;
}

}  // namespace

RareEnough rare_enough(const TripOdds& odds, double limit_per_year) {
    const RareEnough alone = alone_rare_enough(odds, limit_per_year);
    return odds.in_blocks ? std::max(alone, rare_enough(*odds.in_blocks, limit_per_year)) : alone;
}

OddsByWatchdog::OddsByWatchdog(const Scenario& scenario, const OddsEffort& effort)
    : blocks_(blocks_of(scenario, effort.blocks)), alone_(in_blocks_of(scenario, {}), effort) {
    if (blocks_[0] != 0 || blocks_[1] != 0) in_blocks_.emplace(in_blocks_of(scenario, blocks_), effort);
}

TripOdds odds_as_typed(const Scenario& scenario, const OddsEffort& effort) {
    TripOdds odds = trip_odds(in_blocks_of(scenario, {}), effort);
    if (const auto blocks = blocks_of(scenario, effort.blocks); blocks[0] != 0 || blocks[1] != 0)
        odds.in_blocks = std::make_shared<const TripOdds>(trip_odds(in_blocks_of(scenario, blocks), effort));
    return odds;
}

TripOdds OddsByWatchdog::at(Duration watchdog) {
    TripOdds odds = alone_.at(watchdog);
    if (in_blocks_) odds.in_blocks = std::make_shared<const TripOdds>(in_blocks_->at(watchdog));
    return odds;
}

void OddsByWatchdog::reckon(const std::vector<Duration>& watchdogs, const std::function<void(std::size_t)>& done) {
    if (in_blocks_) alone_.reckon(watchdogs, [](std::size_t) {});
    (in_blocks_ ? *in_blocks_ : alone_).reckon(watchdogs, done);
}

std::optional<Duration> OddsByWatchdog::shortest_up_to(double limit_per_year) const {
    if (!in_blocks_) return alone_.shortest_up_to(limit_per_year);
    for (const auto& [steps, odds] : alone_.known()) {
        const auto kept = in_blocks_->known().find(steps);
        if (odds.at_most(limit_per_year) && kept != in_blocks_->known().end() && kept->second.at_most(limit_per_year))
            return step() * steps;
    }
    return std::nullopt;
}

RareEnough OddsByWatchdog::roughly(std::int64_t steps, double limit_per_year) const {
    return rare_enough(alone_.roughly(steps), limit_per_year);  // in blocks is slow, and not far from it
}

}  // namespace sim
