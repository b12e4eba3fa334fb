#include "sim/odds/polled_chain.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>
#include <vector>

#include "proto/contract.hpp"
#include "sim/odds/polled_grid.hpp"
#include "sim/odds/polled_state.hpp"
#include "sim/odds/sparse_mass.hpp"
#include "sim/odds/way_losses.hpp"
#include "sim/scenario/channel.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {
namespace {

using State = PolledState;
using Phase = PolledPhase;

class PolledChain {
  public:
    PolledChain(const LinkModel& link, PolledGrid grid, const ChainEffort& effort)
        : link_(link), effort_(effort), grid_(std::move(grid)) {}

    ChainOdds run() {
        ChainOdds odds;
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
    void start(SparseMass& into, double mass) const {
        for (const bool out : {false, true})
            for (const bool back : {false, true}) {
                State s;
                s.deadline = static_cast<unsigned>(grid_.slots);
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
                next.deadline = slot + static_cast<unsigned>(grid_.slots);
                // answers to what is found with it say the new number too
                next.answer = next.same_slot != 0 ? next.same_slot : State::no_answer;
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
            if (next.answer == State::no_answer) next.answer = next.last_scan;
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
            if (s.age > grid_.ages) {
                stop(StopCause::controller_watchdog, entry.mass, 1.0);
                continue;
            }
            if (s.answer == 1) {
                counted_.exchanges += entry.mass;
                s.age = 0;
                s.answer = 0;
            } else if (s.answer != 0 && s.answer != State::no_answer) {
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
        const auto phases = static_cast<std::uint64_t>(grid_.phases.size());
        const double memory = std::max(losses_out_.memory(), losses_back_.memory());
        constexpr double memory_most = 5000.0;
        auto stretch = static_cast<std::uint64_t>(std::max<std::int64_t>(grid_.ages, 8) + 4) +
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
                phase_ = &grid_.phases[static_cast<std::size_t>(cycle % phases)];
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
    const WayLosses losses_out_{link_.to_device.channel}, losses_back_{link_.to_controller.channel};
    const PolledGrid grid_;
    bool gave_up_ = false;
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
    std::optional<PolledGrid> grid = polled_grid(link);
    if (!grid) {
        ChainOdds none;
        none.fits = false;
        return none;
    }
    return PolledChain(link, std::move(*grid), effort).run();
}

}  // namespace sim
