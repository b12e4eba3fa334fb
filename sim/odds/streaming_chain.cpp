#include "sim/odds/streaming_chain.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <optional>
#include <utility>
#include <vector>

#include "proto/contract.hpp"
#include "sim/odds/delay_chance.hpp"
#include "sim/odds/sparse_mass.hpp"
#include "sim/odds/way_losses.hpp"
#include "sim/scenario/channel.hpp"
#include "sim/timing/bounds.hpp"

namespace sim {
namespace {

constexpr unsigned slot_bits = 12, deadline_bits = 16, missing_bits = 20;
constexpr std::uint64_t most(unsigned bits) { return (std::uint64_t{1} << bits) - 1; }

/// Slots are scans of the receiver after the current scan of the sender, from 1.
struct State {
    std::uint64_t last_slot = 0, deadline = 0, missing = 0;
    bool bad = false;
    static State of(std::uint64_t word) {
        return {word & most(slot_bits), word >> slot_bits & most(deadline_bits),
                word >> (slot_bits + deadline_bits) & most(missing_bits),
                (word >> (slot_bits + deadline_bits + missing_bits)) != 0};
    }
    [[nodiscard]] std::uint64_t word() const {
        return last_slot | deadline << slot_bits | missing << (slot_bits + deadline_bits) |
               std::uint64_t{bad} << (slot_bits + deadline_bits + missing_bits);
    }
};

struct Phase {
    std::uint64_t slots = 0;                 ///< of the receiver within this scan of the sender
    std::vector<double> found, found_until;  ///< the last of `found`: or later
};

/// One way of the link: who sends, who receives, and what a stop there is called.
struct Way {
    Way(const LinkModel& whole, Direction way)
        : link(whole),
          out(way == Direction::to_device),
          from(out ? link.controller : link.device),
          to(out ? link.device : link.controller),
          model(out ? link.to_device : link.to_controller),
          late(out ? StopCause::device_watchdog : StopCause::controller_watchdog),
          bent(out ? StopCause::bent_to_device : StopCause::bent_to_controller),
          gap(out ? StopCause::missing_to_device : StopCause::missing_to_controller) {}
    const LinkModel& link;
    bool out;
    const EndModel &from, &to;
    const WayModel& model;
    StopCause late, bent, gap;
};

/// Which scans of the receiver find what is sent in the sender's scan that begins at `begin`.
Phase phase_of(const Way& way, const DelayChance& delay, std::int64_t begin, std::int64_t farthest) {
    const std::int64_t step = way.from.scan.ns, scan = way.to.scan.ns;
    Phase phase;
    // a scan of the device comes before one of the controller at the same instant
    std::int64_t first = ((way.out ? 1 : -1) * way.link.device_phase.ns - begin) % scan;
    if (first < 0) first += scan;
    const std::int64_t earliest = way.out ? 1 : 0;
    if (first < earliest) first += scan;
    phase.slots = static_cast<std::uint64_t>(std::max<std::int64_t>(0, (step - (way.out ? 0 : 1) - first) / scan + 1));
    if (step - (way.out ? 0 : 1) < first) phase.slots = 0;
    phase.found = phase.found_until = {0.0};
    double until = 0.0;
    for (std::int64_t slot = 1; slot <= farthest; ++slot) {
        const std::int64_t at = first + (slot - 1) * scan;
        const std::int64_t after = slot == 1 ? -1 : at - scan;
        phase.found.push_back(slot == farthest ? delay.above(after) : delay.between(after, at));
        until += phase.found.back();
        phase.found_until.push_back(until);
    }
    return phase;
}

/// Nothing where the scans of the two ends meet too seldom, or where a number does not fit a State.
std::optional<std::vector<Phase>> phases_of(const Way& way) {
    const DelayChance delay(way.model.channel.delay);
    const std::int64_t step = way.from.scan.ns, scan = way.to.scan.ns;
    const std::int64_t count = scan / std::gcd(step, scan);
    const std::int64_t waits = way.to.watchdog.ns / scan;
    // what comes after all delays but those of a tail, and after the watchdog, is too late by then but for a telegram
    // of the tail before it
    const std::int64_t farthest =
        std::min(delay.longest() / scan + 3, longest_of(way.model.channel.delay).ns / scan + waits + 3);
    constexpr std::int64_t phases_most = 256;
    if (count > phases_most || farthest >= static_cast<std::int64_t>(most(slot_bits)) ||
        waits + farthest >= static_cast<std::int64_t>(most(deadline_bits)) ||
        way.to.watchdog.ns / step + 8 >= static_cast<std::int64_t>(most(missing_bits)))
        return std::nullopt;
    std::vector<Phase> phases;
    for (std::int64_t p = 0; p < count; ++p) phases.push_back(phase_of(way, delay, p * step, farthest));
    return phases;
}

class StreamingChain {
  public:
    StreamingChain(const Way& way, std::vector<Phase> phases)
        : way_(way), phases_(std::move(phases)), losses_(way.model.channel) {}

    ChainOdds run() {
        start(now_, 1.0);
        const std::uint64_t stretch = stretch_of_cycles();
        ChainOdds odds;
        double before = -1.0;
        std::uint64_t cycle = 0;
        constexpr int stretches_most = 60;
        for (int round = 0; round < stretches_most; ++round) {
            counted_ = {};
            for (const std::uint64_t end = cycle + stretch; cycle < end; ++cycle) {
                phase_ = &phases_[static_cast<std::size_t>(cycle % phases_.size())];
                pass_one_cycle();
                odds.states = std::max(odds.states, sent_.size());
            }
            odds.stops = counted_.stops;
            for (double& one : odds.stops) one /= counted_.time;
            odds.exchanges = counted_.accepted / counted_.time;
            (way_.out ? odds.bent_to_device : odds.bent_to_controller) = counted_.bent / counted_.time;
            odds.undecided = counted_.undecided / counted_.time;
            odds.cycles = cycle;
            const double total = odds.total();
            odds.spread = total > 0.0 ? std::fabs(total - before) / total : 0.0;
            odds.least = total * (1.0 - odds.spread);
            odds.most = total * (1.0 + odds.spread);
            constexpr double settled = 2e-5;
            if (before >= 0.0 && odds.spread < settled) break;
            before = total;
        }
        return odds;
    }

  private:
    /// What is counted over a stretch of cycles, in cycles of a running link.
    struct Counted {
        double time = 0.0, bent = 0.0, accepted = 0.0, undecided = 0.0;
        std::array<double, stop_cause_count> stops{};
    };

    /// In which the watchdog can expire and the burst losses are forgotten, in whole rounds of the phases.
    [[nodiscard]] std::uint64_t stretch_of_cycles() const {
        constexpr double memory_most = 5000.0;
        const std::int64_t in_watchdog = way_.to.watchdog.ns / way_.from.scan.ns;
        const auto stretch = static_cast<std::uint64_t>(2 * std::max<std::int64_t>(in_watchdog, 8) + 16) +
                             static_cast<std::uint64_t>(4.0 * std::min(losses_.memory(), memory_most));
        return (stretch + phases_.size() - 1) / phases_.size() * phases_.size();
    }

    void start(SparseMass& into, double mass) const {
        for (const bool bad : {false, true})
            into.add(State{0, waits_, 0, bad}.word(), mass * (bad ? losses_.bad() : 1.0 - losses_.bad()));
    }

    void stop(StopCause cause, double mass) {
        counted_.stops[static_cast<std::size_t>(cause)] += mass;
        ended_ += mass;
    }

    void pass_one_cycle() {
        sent_.clear();
        next_.clear();
        ended_ = 0.0;
        for (const SparseMass::Entry& entry : now_.entries()) {
            counted_.time += entry.mass;
            send(State::of(entry.state), entry.mass);
        }
        for (const SparseMass::Entry& entry : sent_.entries()) pass(State::of(entry.state), entry.mass);
        start(next_, ended_);
        std::swap(now_, next_);
    }

    /// A telegram leaves, and is lost or arrives.
    void send(State s, double all) {
        const bool was = s.bad;
        for (const bool changes : {false, true}) {
            const double mass = all * (changes ? losses_.leave[was] : 1.0 - losses_.leave[was]);
            if (!(mass > 0.0)) continue;
            s.bad = was != changes;
            State missed = s;
            missed.missing = std::min(s.missing + 1, most(missing_bits));
            sent_.add(missed.word(), mass * losses_.lost[was]);
            arrive(s, missed.missing, mass * (1.0 - losses_.lost[was]));
        }
    }

    /// `missing`: how many will be missing if this one is rejected.
    void arrive(const State& s, std::uint64_t missing, double arrives) {
        const double bent = way_.model.bent;
        for (std::uint64_t slot = std::max<std::uint64_t>(s.last_slot, 1); slot < phase_->found.size(); ++slot) {
            const double here = arrives * (slot == s.last_slot ? phase_->found_until[slot] : phase_->found[slot]);
            if (!(here > 0.0)) continue;
            if (slot + 1 == phase_->found.size() && slot <= s.deadline) {
                counted_.undecided += here;
                ended_ += here;
                continue;
            }
            State found = s;
            found.last_slot = slot;
            if (bent > 0.0) {
                counted_.bent += here * bent;
                State rejected = found;
                rejected.missing = missing;
                if (way_.to.reaction == proto::Reaction::trip)
                    stop(way_.bent, here * bent);
                else
                    sent_.add(rejected.word(), here * bent);
            }
            take(s, found, here * (1.0 - bent));
        }
    }

    void take(const State& s, State found, double good) {
        if (found.last_slot > s.deadline) {
            stop(way_.late, good);
        } else if (s.missing > way_.to.missing_allowed) {
            // also with `discard`: the next number does not fit either, and that is the second error
            stop(way_.gap, good);
        } else {
            counted_.accepted += good;
            found.missing = 0;
            found.deadline = found.last_slot + waits_;
            sent_.add(found.word(), good);
        }
    }

    /// A scan of the sender passes.
    void pass(State s, double mass) {
        if (s.deadline < phase_->slots) {
            stop(way_.late, mass);
            return;
        }
        s.deadline -= phase_->slots;
        s.last_slot = s.last_slot > phase_->slots ? s.last_slot - phase_->slots : 0;
        next_.add(s.word(), mass);
    }

    const Way& way_;
    const std::vector<Phase> phases_;
    const WayLosses losses_;
    const std::uint64_t waits_ = static_cast<std::uint64_t>(way_.to.watchdog.ns / way_.to.scan.ns);
    const Phase* phase_ = nullptr;
    SparseMass now_, sent_, next_;
    Counted counted_;
    double ended_ = 0.0;  ///< mass that stopped in this cycle
};

}  // namespace

bool streaming_chain_suits(const LinkModel& link, Direction way) {
    const WayModel& model = way == Direction::to_device ? link.to_device : link.to_controller;
    return never_overtaken(link, way) && !model.channel.queue && model.channel.delay.block == 0;
}

ChainOdds streaming_chain(const LinkModel& link, Direction direction) {
    proto::require(link.exchange == proto::Exchange::streaming && streaming_chain_suits(link, direction),
                   "streaming_chain() of another channel");
    const Way way(link, direction);
    std::optional<std::vector<Phase>> phases = phases_of(way);
    if (!phases) {
        ChainOdds none;
        none.fits = false;
        return none;
    }
    return StreamingChain(way, std::move(*phases)).run();
}

}  // namespace sim
