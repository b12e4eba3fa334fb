#include "sim/odds/streaming_chain.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <vector>

#include "proto/contract.hpp"
#include "sim/odds/delay_chance.hpp"
#include "sim/odds/sparse_mass.hpp"
#include "sim/scenario/channel.hpp"

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
    std::uint64_t slots = 0;  ///< of the receiver within this scan of the sender
    std::vector<double> found, found_until;
};

}  // namespace

bool streaming_chain_suits(const LinkModel& link, Direction way) {
    const WayModel& model = way == Direction::to_device ? link.to_device : link.to_controller;
    return never_overtaken(link, way) && !model.channel.queue;
}

ChainOdds streaming_chain(const LinkModel& link, Direction way) {
    const bool out = way == Direction::to_device;
    const EndModel& from = out ? link.controller : link.device;
    const EndModel& to = out ? link.device : link.controller;
    const WayModel& model = out ? link.to_device : link.to_controller;
    proto::require(link.exchange == proto::Exchange::streaming && streaming_chain_suits(link, way),
                   "streaming_chain() of another channel");
    const auto late = out ? StopCause::device_watchdog : StopCause::controller_watchdog;
    const auto bent_cause = out ? StopCause::bent_to_device : StopCause::bent_to_controller;
    const auto gap = out ? StopCause::missing_to_device : StopCause::missing_to_controller;
    const DelayChance delay(model.channel.delay);
    const std::int64_t step = from.scan.ns, scan = to.scan.ns;
    const std::int64_t phase_count = scan / std::gcd(step, scan);
    const std::int64_t waits = to.watchdog.ns / scan;
    const std::int64_t farthest = delay.longest() / scan + 2;
    ChainOdds odds;
    constexpr std::int64_t phases_most = 256;
    if (phase_count > phases_most || farthest >= static_cast<std::int64_t>(most(slot_bits)) ||
        waits + farthest >= static_cast<std::int64_t>(most(deadline_bits)) ||
        to.watchdog.ns / step + 8 >= static_cast<std::int64_t>(most(missing_bits))) {
        odds.fits = false;
        return odds;
    }
    std::vector<Phase> phases(static_cast<std::size_t>(phase_count));
    for (std::int64_t p = 0; p < phase_count; ++p) {
        Phase& phase = phases[static_cast<std::size_t>(p)];
        // a scan of the device comes before one of the controller at the same instant
        std::int64_t first = ((out ? 1 : -1) * link.device_phase.ns - p * step) % scan;
        if (first < 0) first += scan;
        const std::int64_t earliest = out ? 1 : 0;
        if (first < earliest) first += scan;
        phase.slots = static_cast<std::uint64_t>(std::max<std::int64_t>(0, (step - (out ? 0 : 1) - first) / scan + 1));
        if (step - (out ? 0 : 1) < first) phase.slots = 0;
        phase.found = phase.found_until = {0.0};
        double until = 0.0;
        for (std::int64_t slot = 1; slot <= farthest; ++slot) {
            const std::int64_t at = first + (slot - 1) * scan;
            phase.found.push_back(delay.between(slot == 1 ? -1 : at - scan, at));
            until += phase.found.back();
            phase.found_until.push_back(until);
        }
    }

    const std::optional<BurstLoss>& bursts = model.channel.bursts;
    const double lost[2] = {bursts ? bursts->in_good : model.channel.loss,
                            bursts ? bursts->in_bad : model.channel.loss};
    const double leave[2] = {bursts ? bursts->good_to_bad : 0.0, bursts ? bursts->bad_to_good : 0.0};
    const double bad_share = leave[0] > 0.0 ? leave[0] / (leave[0] + leave[1]) : 0.0;

    SparseMass now, sent, next;
    const auto start = [&](SparseMass& into, double mass) {
        for (const bool bad : {false, true})
            into.add(State{0, static_cast<std::uint64_t>(waits), 0, bad}.word(),
                     mass * (bad ? bad_share : 1.0 - bad_share));
    };
    start(now, 1.0);
    const double memory = leave[0] > 0.0 ? 1.0 / (leave[0] + leave[1]) : 0.0;
    constexpr double memory_most = 5000.0;
    auto stretch = static_cast<std::uint64_t>(2 * std::max<std::int64_t>(to.watchdog.ns / step, 8) + 16) +
                   static_cast<std::uint64_t>(4.0 * std::min(memory, memory_most));
    stretch = (stretch + phases.size() - 1) / phases.size() * phases.size();
    double before = -1.0;
    std::uint64_t cycle = 0;
    constexpr int stretches_most = 60;
    for (int round = 0; round < stretches_most; ++round) {
        double time = 0.0, bent_seen = 0.0, accepted = 0.0;
        std::array<double, stop_cause_count> stops{};
        for (const std::uint64_t end = cycle + stretch; cycle < end; ++cycle) {
            const Phase& phase = phases[static_cast<std::size_t>(cycle % phases.size())];
            sent.clear();
            next.clear();
            double ended = 0.0;
            const auto stop = [&](StopCause cause, double mass) {
                stops[static_cast<std::size_t>(cause)] += mass;
                ended += mass;
            };
            for (const SparseMass::Entry& entry : now.entries()) {
                time += entry.mass;
                State s = State::of(entry.state);
                const bool was = s.bad;
                for (const bool changes : {false, true}) {
                    const double mass = entry.mass * (changes ? leave[was] : 1.0 - leave[was]);
                    if (!(mass > 0.0)) continue;
                    s.bad = was != changes;
                    State missed = s;
                    missed.missing = std::min(s.missing + 1, most(missing_bits));
                    sent.add(missed.word(), mass * lost[was]);
                    const double arrives = mass * (1.0 - lost[was]);
                    for (std::uint64_t slot = std::max<std::uint64_t>(s.last_slot, 1); slot < phase.found.size();
                         ++slot) {
                        const double here =
                            arrives * (slot == s.last_slot ? phase.found_until[slot] : phase.found[slot]);
                        if (!(here > 0.0)) continue;
                        State found = s;
                        found.last_slot = slot;
                        if (model.bent > 0.0) {
                            bent_seen += here * model.bent;
                            State rejected = found;
                            rejected.missing = missed.missing;
                            if (to.reaction == proto::Reaction::trip)
                                stop(bent_cause, here * model.bent);
                            else
                                sent.add(rejected.word(), here * model.bent);
                        }
                        const double good = here * (1.0 - model.bent);
                        if (slot > s.deadline) {
                            stop(late, good);
                        } else if (s.missing > to.missing_allowed) {
                            // also with `discard`: the next number does not fit either, and that is the second error
                            stop(gap, good);
                        } else {
                            accepted += good;
                            found.missing = 0;
                            found.deadline = slot + static_cast<std::uint64_t>(waits);
                            sent.add(found.word(), good);
                        }
                    }
                }
            }
            odds.states = std::max(odds.states, sent.size());
            for (const SparseMass::Entry& entry : sent.entries()) {
                State s = State::of(entry.state);
                if (s.deadline < phase.slots) {
                    stop(late, entry.mass);
                    continue;
                }
                s.deadline -= phase.slots;
                s.last_slot = s.last_slot > phase.slots ? s.last_slot - phase.slots : 0;
                next.add(s.word(), entry.mass);
            }
            start(next, ended);
            std::swap(now, next);
        }
        odds.stops = stops;
        for (double& one : odds.stops) one /= time;
        odds.exchanges = accepted / time;
        (out ? odds.bent_to_device : odds.bent_to_controller) = bent_seen / time;
        odds.cycles = cycle;
        const double total = odds.total();
        odds.spread = total > 0.0 ? std::fabs(total - before) / total : 0.0;
        constexpr double settled = 2e-5;
        if (before >= 0.0 && odds.spread < settled) break;
        before = total;
    }
    return odds;
}

}  // namespace sim
