#include "sim/odds/odds_of_model.hpp"

#include <algorithm>
#include <atomic>
#include <numeric>
#include <utility>

#include "sim/numeric/helping_threads.hpp"

namespace sim {

OddsOfModel::OddsOfModel(LinkModel link, const OddsEffort& effort)
    : link_(std::move(link)), effort_(effort), step_(std::gcd(link_.controller.scan.ns, link_.device.scan.ns)) {}

void OddsOfModel::reckon_one(std::int64_t steps, const OddsEffort& effort) {
    {
        const std::lock_guard lock(mutex_);
        if (known_.contains(steps)) return;
    }
    TripOdds odds = trip_odds(with_watchdogs(link_, Duration{steps * step_}), effort);
    const std::lock_guard lock(mutex_);
    known_.emplace(steps, std::move(odds));
}

TripOdds OddsOfModel::at(Duration watchdog) {
    const std::int64_t steps = steps_in(watchdog);
    reckon_one(steps, effort_);
    return bounded(steps);
}

void OddsOfModel::reckon(const std::vector<Duration>& watchdogs, const std::function<void(std::size_t)>& done) {
    // Either several watchdogs at once, or several repetitions of one: the figures are the same.
    OddsEffort effort = effort_;
    const std::size_t workers = std::min<std::size_t>(effort.jobs, watchdogs.size());
    if (workers > 1) effort.jobs = 1;
    std::atomic<std::size_t> next{0};
    std::size_t count = 0;
    std::mutex counting;
    const auto work = [&] {
        for (std::size_t i = next++; i < watchdogs.size(); i = next++) {
            reckon_one(steps_in(watchdogs[i]), effort);
            const std::lock_guard lock(counting);
            done(++count);
        }
    };
    const HelpingThreads others(static_cast<unsigned>(std::max<std::size_t>(workers, 1) - 1), work);
    work();
}

TripOdds OddsOfModel::bounded(std::int64_t steps) const {
    TripOdds odds = known_.at(steps);
    const auto lower = [](std::optional<double>& high, const std::optional<double>& other) {
        if (other && (!high || *other < *high)) high = other;
    };
    for (const auto& [other, its] : known_) {
        if (other < steps) {
            lower(odds.high, its.high);
            if (odds.high_as_described) lower(odds.high_as_described, its.high_as_described);
        } else {
            odds.low = std::max(odds.low, its.low);
        }
    }
    if (odds.high) odds.low = std::min(odds.low, *odds.high);
    if (odds.claimed && odds.high) odds.per_year = std::clamp(odds.per_year, odds.low, *odds.high);
    return odds;
}

std::optional<Duration> OddsOfModel::shortest_up_to(double limit_per_year) const {
    for (const auto& [steps, odds] : known_)
        if (odds.at_most(limit_per_year)) return Duration{steps * step_};
    return std::nullopt;
}

TripOdds OddsOfModel::roughly(std::int64_t steps) const {
    OddsEffort quick = effort_;
    quick.thorough = false;
    return trip_odds(with_watchdogs(link_, Duration{steps * step_}), quick);
}

}  // namespace sim
