#include "sim/odds/polled_chain.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <vector>

#include "proto/contract.hpp"
#include "sim/odds/delay_chance.hpp"
#include "sim/odds/sparse_mass.hpp"
#include "sim/scenario/channel.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {
namespace {

/// Bits of a state's word, in the order of its fields.
constexpr unsigned age_bits = 11, slot_bits = 10, scan_bits = 8, deadline_bits = 14;
constexpr unsigned most(unsigned bits) { return (1U << bits) - 1; }
constexpr unsigned no_answer = most(scan_bits);

/// All times count from the current cycle's scan of the controller: slots are scans of the device after it, from 1;
/// scans are those of the controller after it, from 1; 0 is past.
struct State {
    unsigned age = 0;        ///< cycles since the controller's last acceptance
    unsigned last_slot = 0;  ///< in which the last telegram is found at the device, 0: no later one waits for it
    unsigned last_scan = 0;  ///< before which no later answer is found
    unsigned same_slot = 0;  ///< scan that finds the first answer sent in `last_slot`, 0: none
    unsigned answer = 0;     ///< scan that finds the answer waited for; 0: the device has not got the number;
                             ///< no_answer: it has, and no answer to it is on its way
    unsigned deadline = 0;   ///< last slot in which the device may find the next number
    bool bad_out = false, bad_back = false;  ///< burst losses

    static State of(std::uint64_t word) {
        const auto take = [&word](unsigned bits) {
            const auto part = static_cast<unsigned>(word & most(bits));
            word >>= bits;
            return part;
        };
        State s;
        s.age = take(age_bits);
        s.last_slot = take(slot_bits);
        s.last_scan = take(scan_bits);
        s.same_slot = take(scan_bits);
        s.answer = take(scan_bits);
        s.deadline = take(deadline_bits);
        s.bad_out = take(1) != 0;
        s.bad_back = take(1) != 0;
        return s;
    }
    [[nodiscard]] std::uint64_t word() const {
        std::uint64_t word = bad_back ? 1 : 0;
        const auto put = [&word](unsigned value, unsigned bits) { word = word << bits | value; };
        put(bad_out ? 1 : 0, 1);
        put(deadline, deadline_bits);
        put(answer, scan_bits);
        put(same_slot, scan_bits);
        put(last_scan, scan_bits);
        put(last_slot, slot_bits);
        put(age, age_bits);
        return word;
    }
};
static_assert(age_bits + slot_bits + 3 * scan_bits + deadline_bits + 2 <= 64);

/// Loss of one way: by the state of its chain, or the same in both.
struct Losses {
    explicit Losses(const ChannelSettings& channel)
        : lost{channel.bursts ? channel.bursts->in_good : channel.loss,
               channel.bursts ? channel.bursts->in_bad : channel.loss},
          leave{channel.bursts ? channel.bursts->good_to_bad : 0.0,
                channel.bursts ? channel.bursts->bad_to_good : 0.0} {}
    double lost[2], leave[2];
    /// In the long run.
    [[nodiscard]] double bad() const { return leave[0] > 0.0 ? leave[0] / (leave[0] + leave[1]) : 0.0; }
    [[nodiscard]] double memory() const { return leave[0] > 0.0 ? 1.0 / (leave[0] + leave[1]) : 0.0; }
};

/// Which scans find what is sent, for one place of the device's scans against the cycle.
struct Phase {
    unsigned slots = 0;                             ///< of the device within this cycle
    std::vector<double> offset;                     ///< [slot]: cycles from the controller's scan
    std::vector<double> found;                      ///< [slot]: probability that a telegram sent now is found in it
    std::vector<double> found_until;                ///< [slot]: in it or earlier
    std::vector<unsigned> first;                    ///< [slot]: the first scan that can find an answer sent in it
    std::vector<std::vector<double>> answer_found;  ///< [slot][scan - first]
};

class PolledChain {
  public:
    PolledChain(const LinkModel& link, const ChainEffort& effort) : link_(link), effort_(effort) { fits_ = prepare(); }

    ChainOdds run() {
        ChainOdds odds;
        odds.fits = fits_;
        if (!fits_) return odds;
        double least = 0.0;  // mass under which a state is not followed
        for (int attempt = 0;; ++attempt) {
            odds = follow(least);
            const double allowed = effort_.undecided_share * odds.total();
            if (!gave_up_ && odds.undecided <= allowed) return odds;
            constexpr int attempts_most = 8;
            if (attempt == attempts_most || (least > 0.0 && gave_up_)) {
                odds.fits = false;
                return odds;
            }
            // the first try showed that there are too many states; from coarse to fine, then
            least =
                least <= 0.0 ? effort_.least_first : std::max(least * 1e-3, least * 0.2 * (allowed / odds.undecided));
        }
    }

  private:
    bool prepare() {
        const std::int64_t cycle = link_.controller.scan.ns, scan = link_.device.scan.ns;
        const std::int64_t phases = scan / std::gcd(cycle, scan);
        constexpr std::int64_t phases_most = 64;
        if (phases > phases_most) return false;
        ages_ = link_.controller.watchdog.ns / cycle;
        slots_ = link_.device.watchdog.ns / scan;
        const DelayChance out(link_.to_device.channel.delay), back(link_.to_controller.channel.delay);
        const std::int64_t farthest_slot = out.longest() / scan + 2;
        const std::int64_t farthest_scan = (out.longest() + scan + back.longest()) / cycle + 2;
        if (ages_ >= most(age_bits) || farthest_slot >= most(slot_bits) || farthest_scan >= no_answer ||
            slots_ + farthest_slot >= most(deadline_bits))
            return false;
        for (std::int64_t p = 0; p < phases; ++p) {
            const std::int64_t begin = p * cycle;
            // the first scan of the device after the controller's: at the same instant it comes before it
            std::int64_t first = (link_.device_phase.ns - begin) % scan;
            if (first <= 0) first += scan;
            Phase phase;
            phase.slots = static_cast<unsigned>((cycle - first) / scan + (cycle >= first ? 1 : 0));
            if (cycle < first) phase.slots = 0;
            phase.offset = phase.found = phase.found_until = {0.0};
            phase.first = {0};
            phase.answer_found.emplace_back();
            double until = 0.0;
            for (std::int64_t slot = 1; slot <= farthest_slot; ++slot) {
                const std::int64_t at = first + (slot - 1) * scan;
                phase.offset.push_back(static_cast<double>(at) / static_cast<double>(cycle));
                phase.found.push_back(out.between(slot == 1 ? -1 : at - scan, at));
                until += phase.found.back();
                phase.found_until.push_back(until);
                const std::int64_t earliest = (at + back.shortest() + cycle - 1) / cycle;
                phase.first.push_back(static_cast<unsigned>(earliest));
                std::vector<double>& found = phase.answer_found.emplace_back();
                for (std::int64_t j = earliest; (j - 1) * cycle < at + back.longest(); ++j)
                    found.push_back(back.between(j == earliest ? -1 : (j - 1) * cycle - at, j * cycle - at));
                if (found.empty()) found.push_back(1.0);  // no delay, and the scan falls on the controller's
            }
            phases_.push_back(std::move(phase));
        }
        return true;
    }

    void start(SparseMass& into, double mass) const {
        for (const bool out : {false, true})
            for (const bool back : {false, true}) {
                State s;
                s.deadline = static_cast<unsigned>(slots_);
                s.bad_out = out;
                s.bad_back = back;
                const double share = (out ? losses_out_.bad() : 1.0 - losses_out_.bad()) *
                                     (back ? losses_back_.bad() : 1.0 - losses_back_.bad());
                into.add(s.word(), mass * share);
            }
    }

    /// What is counted over a stretch of cycles.
    struct Counted {
        double time = 0.0;  ///< cycles of a running link
        std::array<double, stop_cause_count> stops{};
        double undecided = 0.0, exchanges = 0.0, bent_out = 0.0, bent_back = 0.0;
    };

    void stop(StopCause cause, double mass, double cycles_from_now) {
        counted_.stops[static_cast<std::size_t>(cause)] += mass;
        counted_.time += mass * (cycles_from_now - 1.0);
        ended_ += mass;
    }

    /// Mass that is not followed: counted as undecided, and the link begins again.
    bool too_little(double mass) {
        if (mass > 0.0 && mass >= least_) return false;
        counted_.undecided += mass;
        ended_ += mass;
        return true;
    }

    /// The telegram of this cycle leaves the controller.
    void send(const SparseMass& now) {
        for (const SparseMass::Entry& entry : now.entries()) {
            State s = State::of(entry.state);
            const bool was = s.bad_out;
            counted_.time += entry.mass;
            for (const bool changes : {false, true}) {
                const double share = changes ? losses_out_.leave[was] : 1.0 - losses_out_.leave[was];
                const double mass = entry.mass * share;
                if (!(mass > 0.0)) continue;
                s.bad_out = was != changes;
                sent_.add(s.word(), mass * losses_out_.lost[was]);
                arrive(s, mass * (1.0 - losses_out_.lost[was]));
            }
        }
    }

    void arrive(const State& s, double mass) {
        if (!(mass > 0.0)) return;
        const Phase& phase = *phase_;
        const double bent = link_.to_device.bent;
        for (unsigned slot = std::max(s.last_slot, 1U); slot < phase.found.size(); ++slot) {
            ++steps_;
            const double here = mass * (slot == s.last_slot ? phase.found_until[slot] : phase.found[slot]);
            if (too_little(here)) continue;
            State next = s;
            if (slot > s.last_slot) next.same_slot = 0;
            next.last_slot = slot;
            if (bent > 0.0) {
                counted_.bent_out += here * bent;
                if (link_.device.reaction == proto::Reaction::trip)
                    stop(StopCause::bent_to_device, here * bent, phase.offset[slot]);
                else
                    sent_.add(next.word(), here * bent);
            }
            const double good = here * (1.0 - bent);
            if (next.answer == 0) {
                if (slot > next.deadline) {
                    stop(StopCause::device_watchdog, good, phase.offset[next.deadline + 1]);
                    continue;
                }
                next.deadline = slot + static_cast<unsigned>(slots_);
                // answers to what is found with it say the new number too
                next.answer = next.same_slot != 0 ? next.same_slot : no_answer;
            }
            answered_.add(next.word(), good);
        }
    }

    /// The device's answer to it, which it will send in the slot where it finds it.
    void answer() {
        for (const SparseMass::Entry& entry : answered_.entries()) {
            State s = State::of(entry.state);
            const bool was = s.bad_back;
            for (const bool changes : {false, true}) {
                const double share = changes ? losses_back_.leave[was] : 1.0 - losses_back_.leave[was];
                const double mass = entry.mass * share;
                if (!(mass > 0.0)) continue;
                s.bad_back = was != changes;
                sent_.add(s.word(), mass * losses_back_.lost[was]);
                come_back(s, mass * (1.0 - losses_back_.lost[was]));
            }
        }
    }

    void come_back(const State& s, double mass) {
        if (!(mass > 0.0)) return;
        const unsigned first = phase_->first[s.last_slot];
        const std::vector<double>& found = phase_->answer_found[s.last_slot];
        const double bent = link_.to_controller.bent;
        double waiting = 0.0;  // until the answers before it are found
        for (std::size_t i = 0; i < found.size(); ++i) {
            const unsigned scan = first + static_cast<unsigned>(i);
            waiting += mass * found[i];
            if (scan < s.last_scan && i + 1 < found.size()) continue;
            const double here = waiting;
            waiting = 0.0;
            if (too_little(here)) continue;
            State next = s;
            next.last_scan = std::max(scan, s.last_scan);
            if (bent > 0.0) {
                counted_.bent_back += here * bent;
                if (link_.controller.reaction == proto::Reaction::trip)
                    stop(StopCause::bent_to_controller, here * bent, static_cast<double>(next.last_scan));
                else
                    sent_.add(next.word(), here * bent);
            }
            if (next.same_slot == 0) next.same_slot = next.last_scan;
            if (next.answer == no_answer) next.answer = next.last_scan;
            sent_.add(next.word(), here * (1.0 - bent));
        }
    }

    /// A cycle passes.
    void pass(SparseMass& next) {
        const unsigned slots = phase_->slots;
        for (const SparseMass::Entry& entry : sent_.entries()) {
            if (too_little(entry.mass)) continue;
            State s = State::of(entry.state);
            if (s.deadline < slots) {
                stop(StopCause::device_watchdog, entry.mass, 1.0);
                continue;
            }
            s.deadline -= slots;
            s.last_slot = s.last_slot > slots ? s.last_slot - slots : 0;
            s.same_slot = s.last_slot != 0 && s.same_slot != 0 ? s.same_slot - 1 : 0;
            s.last_scan -= s.last_scan != 0 ? 1 : 0;
            ++s.age;
            if (s.age > ages_) {
                stop(StopCause::controller_watchdog, entry.mass, 1.0);
                continue;
            }
            if (s.answer == 1) {
                counted_.exchanges += entry.mass;
                s.age = 0;
                s.answer = 0;
            } else if (s.answer != 0 && s.answer != no_answer) {
                --s.answer;
            }
            next.add(s.word(), entry.mass);
        }
    }

    ChainOdds follow(double least) {
        SparseMass now, next;
        start(now, 1.0);
        least_ = least;
        gave_up_ = false;
        const auto phases = static_cast<std::uint64_t>(phases_.size());
        const double memory = std::max(losses_out_.memory(), losses_back_.memory());
        constexpr double memory_most = 5000.0;
        auto stretch = static_cast<std::uint64_t>(std::max<std::int64_t>(ages_, 8) + 4) +
                       static_cast<std::uint64_t>(4.0 * std::min(memory, memory_most));
        // After one stretch, in which the watchdogs can first expire, shorter ones tell sooner that nothing changes any
        // more; what they change by is taken for a whole stretch.
        const std::uint64_t parts = phases == 1 ? 3 : 1;
        const std::uint64_t part = (stretch / parts + phases - 1) / phases * phases;
        stretch = part * parts;
        const int rounds_most = 60 * static_cast<int>(parts);
        constexpr double settled = 2e-4;
        ChainOdds odds;
        double before = -1.0;
        std::uint64_t cycle = 0;
        for (int round = 0; round < rounds_most; ++round) {
            counted_ = {};
            for (const std::uint64_t end = cycle + (round == 0 ? stretch : part); cycle < end; ++cycle) {
                phase_ = &phases_[static_cast<std::size_t>(cycle % phases)];
                sent_.clear();
                answered_.clear();
                next.clear();
                ended_ = 0.0;
                send(now);
                answer();
                odds.states = std::max(odds.states, sent_.size());
                if (odds.states > effort_.states_most || steps_ > effort_.steps_most) {
                    gave_up_ = true;
                    return odds;
                }
                if (least <= 0.0 && odds.states > effort_.states_before_pruning) {
                    gave_up_ = true;  // too many to follow them all
                    return odds;
                }
                pass(next);
                // a link that stopped is acknowledged and begins again
                start(next, ended_);
                std::swap(now, next);
            }
            odds.stops = counted_.stops;
            for (double& one : odds.stops) one /= counted_.time;
            odds.undecided = counted_.undecided / counted_.time;
            odds.exchanges = counted_.exchanges / counted_.time;
            odds.bent_to_device = counted_.bent_out / counted_.time;
            odds.bent_to_controller = counted_.bent_back / counted_.time;
            odds.cycles = cycle;
            const double total = odds.total();
            // too coarse: no use in following it on
            if (round > 0 && odds.undecided > 2.0 * effort_.undecided_share * total) return odds;
            odds.spread = total > 0.0 ? static_cast<double>(parts) * std::fabs(total - before) / total : 0.0;
            if (before >= 0.0 && odds.spread < settled) break;
            before = total;
        }
        return odds;
    }

    const LinkModel& link_;
    const ChainEffort effort_;
    const Losses losses_out_{link_.to_device.channel}, losses_back_{link_.to_controller.channel};
    bool fits_ = true;
    bool gave_up_ = false;
    std::int64_t ages_ = 0;   ///< cycles that the controller waits at most
    std::int64_t slots_ = 0;  ///< scans that the device waits at most
    std::vector<Phase> phases_;
    const Phase* phase_ = nullptr;
    SparseMass answered_, sent_;
    Counted counted_;
    double ended_ = 0.0;  ///< mass that stopped in this cycle
    double least_ = 0.0;  ///< less is not followed
    std::uint64_t steps_ = 0;
};

}  // namespace

bool polled_chain_suits(const LinkModel& link) {
    return never_overtaken(link, Direction::to_device) && never_overtaken(link, Direction::to_controller) &&
           !link.to_device.channel.queue && !link.to_controller.channel.queue;
}

ChainOdds polled_chain(const LinkModel& link, const ChainEffort& effort) {
    proto::require(link.exchange == proto::Exchange::polled && polled_chain_suits(link),
                   "polled_chain() of another channel");
    return PolledChain(link, effort).run();
}

}  // namespace sim
