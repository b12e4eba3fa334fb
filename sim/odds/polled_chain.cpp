#include "sim/odds/polled_chain.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <unordered_map>
#include <utility>
#include <vector>

#include "proto/contract.hpp"
#include "sim/numeric/portable_math.hpp"
#include "sim/odds/polled_cycle.hpp"
#include "sim/odds/polled_grid.hpp"
#include "sim/odds/polled_state.hpp"
#include "sim/odds/sparse_mass.hpp"
#include "sim/odds/state_reduction.hpp"

namespace sim {
namespace {

using State = PolledState;

class PolledChain {
  public:
    PolledChain(const LinkModel& link, PolledGrid grid, const ChainEffort& effort)
        : effort_(effort), grid_(std::move(grid)), cycle_(link, grid_), starts_(starts_of(link)) {}

    ChainOdds run() {
        if (std::optional<ChainOdds> solved = solve()) return *solved;
        return follow_all();
    }

  private:
    /// A way to begin: the place of the device's scans against the cycle, and the states of burst losses.
    struct Start {
        std::size_t phase;
        std::vector<SparseMass::Entry> states;
    };

    /// How the two ends' scans stand to each other when the link has started is not known, and what bursts were like
    /// when it stopped only if they are over by the time that somebody has acknowledged.
    [[nodiscard]] std::vector<Start> starts_of(const LinkModel& link) const {
        constexpr double pause_ns = 1e9, forgotten = 1e-6;
        const double cycles = pause_ns / static_cast<double>(link.controller.scan.ns);
        const double memory = cycle_.memory_of_bursts();
        const bool remembers = memory > 0.0 && portable_exp(-cycles / memory) > forgotten;
        const std::vector<SparseMass::Entry> bursts = cycle_.burst_states();
        std::vector<Start> starts;
        for (std::size_t phase = 0; phase < grid_.phases.size(); ++phase) {
            if (!remembers) starts.push_back({phase, bursts});
            for (std::size_t i = 0; remembers && i < bursts.size(); ++i)
                starts.push_back({phase, {{bursts[i].state, 1.0}}});
        }
        return starts;
    }

    // ---- solved: every state that can come, if there are few enough of them ----

    struct Place {
        std::size_t phase;
        std::uint64_t word;
    };

    /// The states in the order of their discovery, first those of the starts; false if there are too many.
    bool discover(StateReduction& states, std::vector<Place>& places) {
        std::vector<std::unordered_map<std::uint64_t, std::size_t>> known(grid_.phases.size());
        const auto index_of = [&](std::size_t phase, std::uint64_t word) {
            const auto [at, is_new] = known[phase].try_emplace(word, places.size());
            if (is_new) {
                places.push_back({phase, word});
                static_cast<void>(states.add_state());
            }
            return at->second;
        };
        for (const Start& start : starts_)
            for (const SparseMass::Entry& share : start.states) static_cast<void>(index_of(start.phase, share.state));
        SparseMass now, next;
        std::size_t steps = 0;
        for (std::size_t i = 0; i < places.size(); ++i) {
            const Place place = places[i];
            now.clear();
            now.add(place.word, 1.0);
            cycle_.clear();
            cycle_.pass(now, place.phase, 0.0, next);
            states.sums_of(i) = cycle_.sums();
            states.add_stop(i, cycle_.ended());
            const std::size_t following = (place.phase + 1) % grid_.phases.size();
            for (const SparseMass::Entry& entry : next.entries())
                states.add_step(i, index_of(following, entry.state), entry.mass);
            steps += next.size();
            if (places.size() > effort_.solved_states_most || steps > effort_.solved_steps_most) return false;
        }
        return true;
    }

    std::optional<ChainOdds> solve() {
        StateReduction states;
        std::vector<Place> places;
        if (!discover(states, places)) return std::nullopt;
        std::size_t kept = 0;
        for (const Start& start : starts_) kept += start.states.size();
        if (!states.solve(kept, effort_.solving_work_most)) return std::nullopt;
        return over_starts(states, places.size());
    }

    /// One start as likely as another; the least and the most are of the best and of the worst of them.
    [[nodiscard]] ChainOdds over_starts(const StateReduction& states, std::size_t count) const {
        ChainSums all;
        double least = std::numeric_limits<double>::infinity(), most = 0.0;
        std::size_t at = 0;
        for (const Start& start : starts_) {
            ChainSums from;
            bool stops = true;
            for (const SparseMass::Entry& share : start.states) {
                const ChainSums* const one = states.until_stop(at++);
                stops = stops && one != nullptr;
                if (one != nullptr) from.add(*one, share.mass);
            }
            const double rate = stops ? odds_of(from).total() : 0.0;
            least = std::min(least, rate);
            most = std::max(most, rate);
            if (stops) all.add(from, 1.0);
        }
        ChainOdds odds = most > 0.0 ? odds_of(all) : ChainOdds{};
        odds.least = least;
        odds.most = most;
        odds.states = count;
        return odds;
    }

    // ---- followed: cycle after cycle, until nothing changes any more ----

    ChainOdds follow_all() {
        ChainOdds best;
        best.fits = false;
        double least = 0.0;  // mass under which a state is not followed
        constexpr int attempts_most = 8;
        for (int attempt = 0; attempt <= attempts_most; ++attempt) {
            const ChainOdds odds = follow(least);
            if (gave_up_ && least > 0.0) break;
            const double allowed = effort_.undecided_share * odds.total();
            if (!gave_up_ && !too_coarse(odds) && (!best.fits || odds.undecided < best.undecided)) best = odds;
            if (best.fits && best.undecided <= allowed) break;
            // the first try showed that there are too many states; from coarse to fine, then
            least =
                least <= 0.0 ? effort_.least_first : std::max(least * 1e-3, least * 0.2 * (allowed / odds.undecided));
        }
        return best;
    }

    /// So coarse that nothing under `least` is followed. From the first start until it is settled, from each other one
    /// until it is seen to come to the same, or is settled in a way of its own.
    ChainOdds follow(double least) {
        gave_up_ = false;
        ChainOdds odds = follow_from(starts_.front(), least, nullptr);
        if (gave_up_ || too_coarse(odds)) return odds;
        ChainSums all = sums_;
        for (std::size_t i = 1; i < starts_.size(); ++i) {
            const ChainOdds other = follow_from(starts_[i], least, &odds);
            if (gave_up_ || too_coarse(other)) return other;
            odds.states = std::max(odds.states, other.states);
            odds.undecided = std::max(odds.undecided, other.undecided);
            odds.least = std::min(odds.least, other.least);
            odds.most = std::max(odds.most, other.most);
            odds.cycles += other.cycles;
            // one start as long as another, since it is their times up to a stop that are alike in weight
            all.add(sums_,
                    sums_.total_stops() > 0.0 ? all.total_stops() / static_cast<double>(i) / sums_.total_stops() : 1.0);
        }
        const ChainOdds mean = odds_of(all);
        odds.stops = mean.stops;
        odds.exchanges = mean.exchanges;
        odds.bent_to_device = mean.bent_to_device;
        odds.bent_to_controller = mean.bent_to_controller;
        return odds;
    }

    /// It could as well be twice as often.
    [[nodiscard]] static bool too_coarse(const ChainOdds& odds) { return odds.undecided > odds.total(); }

    /// How many cycles are followed before it is looked whether anything still changes.
    struct Stretches {
        std::uint64_t first, next;
        double parts;  ///< of the first in a next one
        int most;
    };
    [[nodiscard]] Stretches stretches() const {
        constexpr double memory_most = 5000.0;
        const auto phases = static_cast<std::uint64_t>(grid_.phases.size());
        const auto stretch = static_cast<std::uint64_t>(std::max<std::int64_t>(grid_.ages, 8) + 4) +
                             static_cast<std::uint64_t>(4.0 * std::min(cycle_.memory_of_bursts(), memory_most));
        // After one stretch, in which the watchdogs can first expire, shorter ones tell sooner that nothing changes any
        // more; what they change by is taken for a whole stretch.
        const std::uint64_t parts = phases == 1 ? 3 : 1;
        const std::uint64_t part = (stretch / parts + phases - 1) / phases * phases;
        return {part * parts, part, static_cast<double>(parts), 60 * static_cast<int>(parts)};
    }

    /// A link followed from one start, where it begins anew whenever it stopped.
    struct Followed {
        SparseMass now = {}, next = {};
        std::uint64_t cycle = 0;
        double waiting = 1.0;  ///< stopped, until that start's place in the scans comes round
        std::size_t states = 0;
    };

    /// Up to that cycle; false if there are too many states to follow them all.
    bool follow_until(std::uint64_t end, const Start& start, double least, Followed& link) {
        cycle_.clear();
        for (; link.cycle < end; ++link.cycle) {
            const std::size_t phase = link.cycle % grid_.phases.size();
            if (phase == start.phase) {
                for (const SparseMass::Entry& share : start.states)
                    link.now.add(share.state, link.waiting * share.mass);
                link.waiting = 0.0;
            }
            cycle_.pass(link.now, phase, least, link.next);
            link.waiting += cycle_.ended();
            link.states = std::max(link.states, cycle_.states());
            if (link.states > effort_.states_most || cycle_.steps() > effort_.steps_most) return false;
            if (least <= 0.0 && link.states > effort_.states_before_pruning) return false;
            std::swap(link.now, link.next);
        }
        return true;
    }

    /// Until nothing changes any more, or early if it does as `known` does.
    ChainOdds follow_from(const Start& start, double least, const ChainOdds* known) {
        const Stretches stretch = stretches();
        constexpr double settled = 2e-4;
        Followed link;
        link.cycle = start.phase;
        ChainOdds odds;
        double before = -1.0;
        for (int round = 0; round < stretch.most; ++round) {
            if (!follow_until(link.cycle + (round == 0 ? stretch.first : stretch.next), start, least, link)) {
                gave_up_ = true;
                return odds;
            }
            sums_ = cycle_.sums();
            odds = odds_of(sums_);
            odds.states = link.states;
            odds.undecided = cycle_.undecided() / sums_.time;
            odds.cycles = link.cycle - start.phase;
            if (round > 0 && too_coarse(odds)) return odds;
            const double total = odds.total();
            odds.spread = total > 0.0 ? stretch.parts * std::fabs(total - before) / total : 0.0;
            odds.least = total * (1.0 - odds.spread);
            odds.most = total * (1.0 + odds.spread);
            const bool as_known = known != nullptr && std::fabs(total - known->total()) <= settled * known->total();
            if ((before >= 0.0 && odds.spread < settled) || (round > 0 && as_known)) break;
            before = total;
        }
        return odds;
    }

    const ChainEffort effort_;
    const PolledGrid grid_;
    PolledCycle cycle_;
    const std::vector<Start> starts_;
    bool gave_up_ = false;
    ChainSums sums_;  ///< of the last stretch
};

}  // namespace

bool polled_chain_suits(const LinkModel& link) {
    return never_overtaken(link, Direction::to_device) && never_overtaken(link, Direction::to_controller) &&
           !link.to_device.channel.queue && !link.to_controller.channel.queue &&
           link.to_device.channel.delay.block == 0 && link.to_controller.channel.delay.block == 0;
}

ChainOdds polled_chain(const LinkModel& link, const ChainEffort& effort) {
    proto::require(link.exchange == proto::Exchange::polled && polled_chain_suits(link),
                   "polled_chain() of another channel");
    std::optional<PolledGrid> grid = polled_grid(link);
    if (!grid) {
        ChainOdds none;
        none.fits = false;
        return none;
    }
    return PolledChain(link, std::move(*grid), effort).run();
}

}  // namespace sim
