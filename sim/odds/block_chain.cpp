#include "sim/odds/block_chain.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <optional>
#include <utility>
#include <vector>

#include "proto/contract.hpp"
#include "sim/odds/polled_cycle.hpp"
#include "sim/odds/polled_grid.hpp"
#include "sim/odds/sparse_mass.hpp"
#include "sim/odds/state_reduction.hpp"

namespace sim {
namespace {

constexpr std::uint64_t block_longest = 256;
/// Of the stops of all blocks, if some stand for others: ordinary ones differ by far less than their number makes up
/// for.
constexpr double sampling_error = 0.25;
constexpr std::size_t places_most = 4'000'000;  ///< of the measured delays, in all phases

/// What one attempt to follow the link comes to.
struct Followed {
    ChainOdds odds;
    bool gave_up = false;
};

class BlockChain {
  public:
    BlockChain(const LinkModel& link, PolledGrid grid, const BlockEffort& effort)
        : link_(link),
          effort_(effort),
          grid_(std::move(grid)),
          cycle_(link_, grid_),
          series_(*link.to_device.channel.delay.series),
          block_(static_cast<std::size_t>(link.to_device.channel.delay.block)),
          depths_(block_ + 1) {
        for (std::size_t phase = 0; phase < grid_.phases.size(); ++phase) sort_into_slots(phase);
        const std::vector<bool> late = with_late_ones();
        for (std::size_t phase = 0; phase < grid_.phases.size(); ++phase) sort_blocks(phase, late);
    }

    ChainOdds run() {
        ChainOdds best;
        best.fits = false;
        double least = 1e-14;  // mass under which a state is not followed
        constexpr int attempts_most = 8;
        for (int attempt = 0; attempt < attempts_most; ++attempt) {
            const Followed followed = follow(least);
            if (followed.gave_up) break;
            const ChainOdds& odds = followed.odds;
            const double allowed = effort_.undecided_share * odds.total();
            if (odds.undecided <= odds.total() && (!best.fits || odds.undecided < best.undecided)) best = odds;
            if (best.fits && best.undecided <= allowed) break;
            constexpr double tiny = 1e-300;
            least = std::max(least * 1e-3, least * 0.2 * (allowed / std::max(odds.undecided, tiny)));
        }
        if (one_in_ > 1) {
            best.one_in = one_in_;
            best.least *= 1.0 - sampling_error;
            best.most *= 1.0 + sampling_error;
        }
        return best;
    }

  private:
    /// The blocks that may begin in a phase, sorted.
    struct Blocks {
        std::vector<std::uint32_t> places;
        std::vector<double> weight_before;  ///< of all before that one; one more than places
        double weight = 0.0;
    };

    // ---- what is known before anything is followed ----

    /// Which scan finds each of the measured delays, sent in that phase, and the phase as it is for each such scan.
    void sort_into_slots(std::size_t phase) {
        const PolledPhase& any = grid_.phases[phase];
        const std::size_t slots = any.found.size();
        const DelayShape& delay = link_.to_device.channel.delay;
        std::vector<double> late(slots, 0.0);
        double weights = 0.0;
        for (const DelayShape::Cell& cell : delay.tail) weights += static_cast<double>(cell.weight);
        for (const DelayShape::Cell& cell : delay.tail)
            late[slot_that_finds(link_, phase, cell.high, slots)] +=
                delay.tail_share * static_cast<double>(cell.weight) / weights;
        const double seen = delay.tail.empty() ? 1.0 : 1.0 - delay.tail_share;
        std::vector<std::uint16_t>& found = slots_.emplace_back();
        std::map<std::uint16_t, PolledPhase>& phases = phases_.emplace_back();
        found.reserve(series_.size());
        for (const Duration each : series_) {
            const auto slot = static_cast<std::uint16_t>(slot_that_finds(link_, phase, each, slots));
            found.push_back(slot);
            if (phases.contains(slot)) continue;
            std::vector<double> shares = late;
            shares[slot] += seen;
            phases.emplace(slot, found_as(any, std::move(shares)));
        }
    }

    [[nodiscard]] std::uint16_t slot_at(std::size_t phase, std::size_t place, std::size_t depth) const {
        return slots_[(phase + depth) % slots_.size()][(place + depth) % series_.size()];
    }

    /// Places at which a block that holds one of the longest times begins.
    [[nodiscard]] std::vector<bool> with_late_ones() const {
        std::vector<Duration> sorted = series_;
        const auto late = static_cast<std::ptrdiff_t>(series_.size() - std::max<std::size_t>(series_.size() / 100, 1));
        std::nth_element(sorted.begin(), sorted.begin() + late, sorted.end());
        std::vector<bool> with(series_.size(), false);
        for (std::size_t i = 0; i < series_.size(); ++i)
            for (std::size_t back = 0; series_[i] >= sorted[static_cast<std::size_t>(late)] && back < block_; ++back)
                with[(i + series_.size() - back % series_.size()) % series_.size()] = true;
        return with;
    }

    /// The places at which a block that begins in that phase may begin, those next to each other that begin alike. One
    /// ordinary block is like another, so of very many every so many-th stands for its neighbours.
    void sort_blocks(std::size_t phase, const std::vector<bool>& late) {
        std::vector<std::uint32_t> places(series_.size());
        std::iota(places.begin(), places.end(), 0U);
        std::sort(places.begin(), places.end(), [&](std::uint32_t a, std::uint32_t b) {
            for (std::size_t depth = 0; depth < block_; ++depth) {
                const std::uint16_t of_a = slot_at(phase, a, depth), of_b = slot_at(phase, b, depth);
                if (of_a != of_b) return of_a < of_b;
            }
            return a < b;
        });
        const auto ordinary = static_cast<std::size_t>(std::count(late.begin(), late.end(), false));
        one_in_ = std::max<std::size_t>(ordinary / effort_.ordinary_most, 1);
        const std::size_t followed = (ordinary + one_in_ - 1) / one_in_;
        const double each = static_cast<double>(ordinary) / static_cast<double>(std::max<std::size_t>(followed, 1));
        Blocks& blocks = blocks_.emplace_back();
        std::size_t seen = 0;
        for (const std::uint32_t place : places) {
            if (!late[place] && seen++ % one_in_ != 0) continue;
            blocks.places.push_back(place);
            blocks.weight_before.push_back(blocks.weight);
            blocks.weight += late[place] ? 1.0 : each;
        }
        blocks.weight_before.push_back(blocks.weight);
    }

    // ---- following ----

    /// All that is at `depth` of a block goes on in the ways in which its places low..high go on.
    void descend(std::size_t phase, std::size_t depth, std::size_t low, std::size_t high) {
        if (depth == block_) {
            for (const SparseMass::Entry& entry : depths_[depth].entries()) after_block_.add(entry.state, entry.mass);
            return;
        }
        const std::vector<std::uint32_t>& places = blocks_[phase].places;
        const std::vector<double>& before = blocks_[phase].weight_before;
        const std::size_t here = (phase + depth) % grid_.phases.size();
        const PolledPhase& following = grid_.phases[(here + 1) % grid_.phases.size()];
        for (std::size_t from = low; from < high && !gave_up_;) {
            const std::uint16_t slot = slot_at(phase, places[from], depth);
            std::size_t to = from + 1;
            while (to < high && slot_at(phase, places[to], depth) == slot) ++to;
            const double part = (before[to] - before[from]) / (before[high] - before[low]);
            cycle_.pass(depths_[depth], phases_[here].at(slot), following, least_, depths_[depth + 1], part);
            waiting_ += cycle_.ended();
            most_states_ = std::max(most_states_, cycle_.states());
            if (cycle_.steps() > effort_.steps_most) gave_up_ = true;
            if (depths_[depth + 1].size() != 0) descend(phase, depth + 1, from, to);
            from = to;
        }
    }

    /// A link that begins in one way in which the scans may stand to each other, and begins anew whenever it stopped.
    struct Run {
        std::size_t start = 0, phase = 0;
        SparseMass now = {};
    };

    /// Blocks in which the watchdogs can first expire and bursts are forgotten, in whole rounds of the phases.
    [[nodiscard]] std::size_t stretch() const {
        const std::size_t phases = grid_.phases.size();
        const std::size_t round = phases / std::gcd(block_, phases);
        constexpr double memory_most = 5000.0;
        const double cycles =
            static_cast<double>(grid_.ages) + 4.0 + 4.0 * std::min(cycle_.memory_of_bursts(), memory_most);
        const auto blocks = static_cast<std::size_t>(cycles / static_cast<double>(block_)) + 1;
        return (blocks + round - 1) / round * round;
    }

    void pass_blocks(Run& run, std::size_t count) {
        cycle_.clear();
        for (std::size_t b = 0; b < count && !gave_up_; ++b) {
            if (run.phase == run.start) {
                for (const SparseMass::Entry& start : cycle_.burst_states())
                    run.now.add(start.state, waiting_ * start.mass);
                waiting_ = 0.0;
            }
            depths_[0].clear();
            for (const SparseMass::Entry& entry : run.now.entries()) depths_[0].add(entry.state, entry.mass);
            after_block_.clear();
            descend(run.phase, 0, 0, blocks_[run.phase].places.size());
            std::swap(run.now, after_block_);
            run.phase = (run.phase + block_) % grid_.phases.size();
        }
    }

    /// Until nothing changes any more or, with one that is known, until it is seen to come to the same.
    Followed follow_from(std::size_t start, double least, const ChainOdds* known) {
        constexpr double settled = 2e-3;
        constexpr int stretches_most = 40;
        const std::size_t blocks = stretch();
        Run run{start, start};
        Followed followed;
        least_ = least;
        waiting_ = 1.0;
        double before = -1.0;
        std::uint64_t cycles = 0;
        for (int i = 0; i < stretches_most && !gave_up_; ++i) {
            pass_blocks(run, blocks);
            if (!(cycle_.sums().time > 0.0)) break;
            ChainOdds& odds = followed.odds = odds_of(cycle_.sums());
            odds.undecided = cycle_.undecided() / cycle_.sums().time;
            odds.states = most_states_;
            odds.cycles = cycles += blocks * block_;
            const double total = odds.total();
            odds.spread = total > 0.0 ? std::fabs(total - before) / total : 0.0;
            odds.least = total * (1.0 - odds.spread);
            odds.most = total * (1.0 + odds.spread);
            const bool as_known = known != nullptr && std::fabs(total - known->total()) <= settled * known->total();
            if (i > 0 && (odds.spread < settled || as_known || odds.undecided > total)) break;
            before = total;
        }
        followed.gave_up = gave_up_;
        return followed;
    }

    Followed follow(double least) {
        Followed all = follow_from(0, least, nullptr);
        const ChainOdds first = all.odds;
        for (std::size_t start = 1; start < grid_.phases.size() && !all.gave_up; ++start) {
            const Followed other = follow_from(start, least, &first);
            all.gave_up = other.gave_up;
            all.odds.least = std::min(all.odds.least, other.odds.least);
            all.odds.most = std::max(all.odds.most, other.odds.most);
            all.odds.undecided = std::max(all.odds.undecided, other.odds.undecided);
            for (std::size_t i = 0; i < stop_cause_count; ++i) all.odds.stops[i] += other.odds.stops[i];
        }
        // one start is as likely as another
        for (double& one : all.odds.stops) one /= static_cast<double>(grid_.phases.size());
        return all;
    }

    const LinkModel& link_;
    const BlockEffort effort_;
    const PolledGrid grid_;
    PolledCycle cycle_;
    const std::vector<Duration>& series_;
    const std::size_t block_;
    std::vector<std::vector<std::uint16_t>> slots_;             ///< [phase][place]
    std::vector<std::map<std::uint16_t, PolledPhase>> phases_;  ///< [phase], by slot
    std::vector<Blocks> blocks_;                                ///< [phase]
    std::vector<SparseMass> depths_;                            ///< what is where in the block now gone through
    SparseMass after_block_;
    double least_ = 0.0, waiting_ = 1.0;
    std::size_t most_states_ = 0, one_in_ = 1;
    bool gave_up_ = false;
};

}  // namespace

bool block_chain_suits(const LinkModel& link) {
    const ChannelSettings &out = link.to_device.channel, &back = link.to_controller.channel;
    return never_overtaken(link, Direction::to_device) && never_overtaken(link, Direction::to_controller) &&
           !out.queue && !back.queue && out.delay.block != 0 && out.delay.block <= block_longest &&
           back.delay.block == 0;
}

ChainOdds block_chain(const LinkModel& link, const BlockEffort& effort) {
    proto::require(link.exchange == proto::Exchange::polled && block_chain_suits(link),
                   "block_chain() of another channel");
    ChainOdds none;
    none.fits = false;
    std::optional<PolledGrid> grid = polled_grid(link);
    if (!grid || grid->phases.size() * link.to_device.channel.delay.series->size() > places_most) return none;
    return BlockChain(link, std::move(*grid), effort).run();
}

}  // namespace sim
