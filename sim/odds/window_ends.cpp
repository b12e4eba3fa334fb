#include "sim/odds/window_ends.hpp"

#include <algorithm>

#include "sim/scenario/scenario.hpp"
#include "sim/timing/response.hpp"

namespace sim {
namespace {

Duration longest_tried(const Scenario& scenario) {
    constexpr Duration watchdog_most = proto::seconds(3600);
    return std::min(watchdog_most, scenario.controller.link.cycle * window_cycles_tried);
}

bool may_be_rare_enough(const OddsByWatchdog& odds, std::int64_t steps, double limit) {
    return odds.roughly(steps, limit) != RareEnough::no;
}
bool may_be_rare_enough(const OddsOfModel& odds, std::int64_t steps, double limit) {
    return rare_enough(odds.roughly(steps), limit) != RareEnough::no;
}

/// The shortest watchdog of the grid whose odds are low enough, up to `longest`. A first idea comes from quick looks,
/// since odds never rise with the watchdog; what is found and the one below it are reckoned in full.
template <class Odds>
class LowestSought {
  public:
    LowestSought(Odds& odds, double limit, Duration cycle, Duration longest)
        : odds_(odds),
          limit_(limit),
          first_(odds.steps_in(cycle) + 1),
          last_(std::max(odds.steps_in(longest), first_)) {}

    void seek() {
        if (odds_.at(Duration{first_ * odds_.step().ns}).with_any_watchdog > limit_) return;
        std::int64_t good = idea();
        std::int64_t bad = first_ - 1;
        // down from there as long as it is good in full too, else up
        for (std::int64_t stride = 1; in_full(good);) {
            if (good == first_) return;
            const std::int64_t below = std::max(good - stride, first_);
            if (!in_full(below)) {
                bad = below;
                break;
            }
            good = below;
            stride *= 2;
        }
        if (bad < first_) {
            bad = good;
            for (std::int64_t stride = 1; !in_full(good); stride *= 2) {
                if (good >= last_) return;
                bad = good;
                good = std::min(good + stride, last_);
            }
        }
        while (good - bad > 1) {
            const std::int64_t middle = bad + (good - bad) / 2;
            (in_full(middle) ? good : bad) = middle;
        }
    }

  private:
    /// Doubled until good, so that long watchdogs, which are slow to reckon, are tried only if need be, then halved.
    [[nodiscard]] std::int64_t idea() const {
        const auto good = [this](std::int64_t n) { return may_be_rare_enough(odds_, n, limit_); };
        std::int64_t bad = first_ - 1, fine = first_;
        for (; !good(fine); fine = std::min(2 * fine, last_)) {
            bad = fine;
            if (fine >= last_) return last_;
        }
        while (fine - bad > 1) {
            const std::int64_t middle = bad + (fine - bad) / 2;
            (good(middle) ? fine : bad) = middle;
        }
        return fine;
    }
    [[nodiscard]] bool in_full(std::int64_t steps) {
        return odds_.at(Duration{steps * odds_.step().ns}).at_most(limit_);
    }

    Odds& odds_;
    double limit_;
    std::int64_t first_, last_;
};

}  // namespace

void seek_lowest(const Scenario& scenario, OddsByWatchdog& odds) {
    LowestSought(odds, scenario.trip_limit.per_year, scenario.controller.link.cycle, longest_tried(scenario)).seek();
}

LowestOfEach lowest_of_each(const Scenario& scenario, OddsByWatchdog& odds) {
    LowestOfEach lowest;
    OddsOfModel* const in_blocks = odds.in_blocks();
    if (in_blocks == nullptr) return lowest;
    const double limit = scenario.trip_limit.per_year;
    const auto seek = [&](OddsOfModel& model) {
        LowestSought(model, limit, scenario.controller.link.cycle, longest_tried(scenario)).seek();
        return model.shortest_up_to(limit);
    };
    const std::optional<Duration> both = odds.shortest_up_to(limit);
    const Duration below = both ? *both - odds.step() : longest_tried(scenario);
    lowest.alone = seek(odds.alone());
    // what keeps both from being rare enough any earlier, if it is not the first, is the second
    const bool decided = both && lowest.alone && *lowest.alone < *both;
    const bool too_short = both && below <= scenario.controller.link.cycle;
    if (decided || too_short) {
        lowest.in_blocks = both;
    } else {
        lowest.in_blocks = seek(*in_blocks);
    }
    return lowest;
}

WindowEnds ends_of(const Scenario& scenario, const OddsByWatchdog& odds) {
    WindowEnds ends;
    const LongestWatchdog longest = longest_watchdog(scenario);
    ends.none = longest.none;
    ends.highest = longest.longest();
    if (ends.highest && *ends.highest <= scenario.controller.link.cycle) {
        ends.none = true;
        ends.highest.reset();
    }
    ends.longest_tried = longest_tried(scenario);
    ends.lowest = odds.shortest_up_to(scenario.trip_limit.per_year);
    return ends;
}

WindowEnds ends_tried(const Scenario& scenario, OddsEffort effort) {
    effort.thorough = false;
    OddsByWatchdog odds(scenario, effort);
    seek_lowest(scenario, odds);
    return ends_of(scenario, odds);
}

}  // namespace sim
