#include "sim/training/bench.hpp"

#include <algorithm>
#include <utility>

#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

std::size_t index_of(End end) { return static_cast<std::size_t>(end); }

/// What was counted since `before`; numbers are no counts. An end that started anew counts from 0 again.
void count_from(proto::Counters& counters, const proto::Counters& before) {
    const auto less = [](std::uint64_t& count, std::uint64_t by) { count -= std::min(count, by); };
    less(counters.sent, before.sent);
    less(counters.received, before.received);
    less(counters.accepted, before.accepted);
    for (std::size_t i = 0; i < counters.rejected.size(); ++i) less(counters.rejected[i], before.rejected[i]);
}

}  // namespace

void Bench::let_go_when_due() {
    if (stuck_from_ && now() >= *stuck_from_) contact_ = true;
    if (let_go_at_ && *let_go_at_ <= now()) {
        let_go_at_.reset();
        contact_ = false;
        Hand(*cell_).set_acknowledge(proto::Endpoint::Contact::open);
    }
    for (std::size_t i = 0; i < held_until_.size(); ++i) {
        if (!held_until_[i] || *held_until_[i] > now()) continue;
        held_until_[i].reset();
        if (!bridged_[i]) Hand(*cell_).release(i);
        if (reads_guard(i)) happened({BenchEvent::Kind::released, now(), scenario_->safeguards[i].at, std::nullopt, i});
    }
}

void Bench::drain() {
    for (const Event& event : log_.events) std::visit([this](const auto& fact) { note(fact); }, event);
    log_.events.clear();
    tell_of_power();
    const MachineModel* const machine = cell_->plant().machine();
    if (machine != nullptr && stop_commanded_ && !ran_on_ && !machine_moves() && machine->still_at() > *stop_commanded_)
        ran_on_ = RanOn{*stop_commanded_ - *stop_began_, machine->still_at() - *stop_commanded_};
}

void Bench::note(const Concluded& fact) { recorder_->concluded(fact.end, fact.token.value, fact.verdict, fact.at); }

void Bench::note(const Acknowledged& fact) {
    happened({fact.counted ? BenchEvent::Kind::acknowledged : BenchEvent::Kind::acknowledged_in_vain, fact.at,
              End::controller, std::nullopt, 0});
}

void Bench::note(const MachineTold& fact) {
    const auto kind = fact.command ? BenchEvent::Kind::machine_commanded : BenchEvent::Kind::machine_started;
    if (fact.command && *fact.command != DriveCommand::run) {
        last_commanded_ = fact.at;
        if (stop_moves_ && !stop_commanded_) stop_commanded_ = fact.at;
    }
    happened({kind, fact.at, scenario_->machine->at, std::nullopt,
              fact.command ? static_cast<std::size_t>(*fact.command) : 0});
}

void Bench::note(const Touched& fact) {
    const Fault& fault = scenario_->faults[fact.fault];
    if (fault.at_end && (fault.way == FaultWay::restart || fault.way == FaultWay::stall)) {
        EndFacts& facts = facts_[index_of(*fault.at_end)];
        // switched off while it stands still, it comes back once both are over
        facts.still_until = std::max(facts.still_until, fact.at + *fault.lasting);
        if (fault.way == FaultWay::restart) facts.dark_until = facts.still_until;
    }
    if (fact.fault >= touched_.size() || touched_[fact.fault]) return;
    touched_[fact.fault] = true;
    if (const auto as = told_as_[fact.fault])
        happened({BenchEvent::Kind::fault, fact.at, End::controller, std::nullopt, *as});
}

void Bench::note(const Demanded& fact) {
    // of several links the machine may be at another
    demand_came_ = demand_came_ || fact.signals != 0 || !link_name_.empty();
    const std::size_t guard = cell_->plant().index_of(scenario_->demands[fact.demand].safeguard);
    happened({BenchEvent::Kind::guard_asked, fact.at, scenario_->safeguards[guard].at, std::nullopt, guard});
    keep_around_demand(fact.at);
}

void Bench::keep_around_demand(Instant at) {
    if (demands_seen_ == demands_kept) return;
    ++demands_seen_;
    record_.around_demands.keep_around(at, record_.latest, strip_before, strip_after);
}

void Bench::begin_own_record() {
    record_.begins = now();
    recorder_->measure_anew();
    record_.latest.clear();
    record_.at_begin = record_.around_stop = record_.around_demands = {};
    record_.at_begin.keep_around(now(), record_.latest, {}, strip_before + strip_after);
    // the truth about what acted before is told when all is over
    events_.erase(std::remove_if(events_.begin(), events_.end(), [](const BenchEvent& e) { return !e.secret(); }),
                  events_.end());
    for (BenchEvent& event : events_) event.at = now();
    for (const End end : {End::controller, End::device}) {
        counted_before_[index_of(end)] = cell_->link().end(end).endpoint().counters();
        if (const proto::Endpoint* const neighbour = cell_->neighbour(end))
            neighbour_before_[index_of(end)] = neighbour->counters();
    }
    next_sample_ = now();
    sample();
}

void Bench::note(const Changed& fact) {
    const auto& [end, transition, at] = fact;
    EndFacts& facts = facts_[index_of(end)];
    facts.since = at;
    const bool keeps_its_cause =
        transition.cause == proto::Cause::error_free_again || transition.cause == proto::Cause::errors_again;
    if (!keeps_its_cause) {
        facts.cause = transition.cause;
        facts.measure = transition.measure;
    }
    if (transition.cause == proto::Cause::power_up) {
        facts.on_since = at;
        ++facts.starts;
        counted_before_[index_of(end)] = {};
        recorder_->forget_waiting(end);
    }
    if (transition.from == proto::State::running && transition.to != proto::State::running) {
        if (!first_stops_[index_of(end)]) {
            first_stops_[index_of(end)] = at;
            const Duration watchdog = cell_->link().end(end).endpoint().settings().watchdog;
            record_.first_stops[index_of(end)] = {transition.cause, transition.measure, watchdog};
        }
        if (!stop_began_) {
            stop_began_ = at;
            stop_moves_ = machine_moves();
            if (stop_moves_ && last_commanded_ == at) stop_commanded_ = at;  // told before, in the same scan
            record_.around_stop.keep_around(at, record_.latest, strip_before, strip_after);
        }
        recorder_->hold_here();
    }
    const BenchEvent changed{BenchEvent::Kind::changed, at, end, transition, 0};
    if (transition.cause == proto::Cause::power_up)
        powered_[index_of(end)] = changed;
    else
        happened(changed);
}

void Bench::tell_of_power() {
    for (const End end : {End::controller, End::device}) {
        std::optional<BenchEvent>& event = powered_[index_of(end)];
        if (!event) continue;
        // it begins anew as its supply goes, and shows so when it is back
        event->at = std::max(event->at, facts_[index_of(end)].dark_until);
        if (event->at > now()) continue;
        const auto later = std::upper_bound(events_.begin(), events_.end(), event->at,
                                            [](Instant at, const BenchEvent& other) { return at < other.at; });
        events_.insert(later, *event);
        forget_some_events();
        event.reset();
    }
}

void Bench::happened(BenchEvent event) {
    events_.push_back(event);
    forget_some_events();
}

/// How it began stays; of what came since the oldest goes.
void Bench::forget_some_events() {
    if (events_.size() <= events_kept) return;
    events_.erase(events_.begin() + static_cast<std::ptrdiff_t>(first_events_kept));
    ++record_.events_forgotten;
}

void Bench::sample() {
    StripSample s;
    s.at = now();
    for (const End end : {End::controller, End::device}) {
        const proto::Endpoint& endpoint = cell_->link().end(end).endpoint();
        s.states[index_of(end)] = endpoint.state();
        s.received[index_of(end)] = endpoint.counters().received;
        if (const auto good = recorder_->last_good(end)) s.silence[index_of(end)] = now() - *good;
    }
    const std::vector<SignalShown> shown = signals();
    for (std::size_t i = 0; i < shown.size(); ++i) {
        if (shown[i].sent) s.safeguards_and_used[0] |= std::uint64_t{1} << i;
        if (shown[i].used) s.safeguards_and_used[1] |= std::uint64_t{1} << i;
    }
    if (const MachineModel* const machine = plant().machine()) {
        s.speed_um_s = machine->speed(now());
        s.position_um = machine->position(now());
    }
    for (std::size_t i = 0; i < held_until_.size(); ++i)
        if (!cell_->plant().safeguard(i).free()) s.demanded |= std::uint64_t{1} << i;
    record_.latest.push_back(s);
    for (KeptStrip* const kept : {&record_.at_begin, &record_.around_stop, &record_.around_demands}) kept->see(s);
    if (record_.latest.size() > samples_kept) record_.latest.pop_front();
    next_sample_ = now() + sample_every;
}

bool Bench::takes(const Fault& fault) const {
    const bool needs_neighbour = fault.way == FaultWay::neighbour || fault.way == FaultWay::swap;
    if (needs_neighbour && cell_->neighbour(End::controller) == nullptr) return false;
    return scenario_->faults.size() + at_next_demand_.size() < faults_by_hand_max;
}

bool Bench::put_in_at_next_demand(Fault fault) {
    if (!takes(fault)) return false;
    at_next_demand_.push_back(std::move(fault));
    return true;
}

void Bench::put_in_what_waits() {
    for (Fault& fault : std::exchange(at_next_demand_, {})) put_in(std::move(fault));
}

bool Bench::put_in(Fault fault, Duration after) {
    if (!takes(fault)) return false;
    fault.at = now() + after - Instant{};
    fault.on_telegram.reset();
    put_in_told_as(std::move(fault), scenario_->faults.size());
    return true;
}

void Bench::put_in_told_as(Fault fault, std::optional<std::size_t> told_as) {
    scenario_->faults.push_back(std::move(fault));
    touched_.push_back(false);
    told_as_.push_back(told_as);
    cell_->put_in(scenario_->faults.size() - 1);
}

Panel Bench::panel(End end) const {
    const proto::Endpoint& endpoint = cell_->link().end(end).endpoint();
    const EndFacts& facts = facts_[index_of(end)];
    Panel panel;
    panel.name = scenario_->end(end).name;
    panel.state = endpoint.state();
    panel.cause = facts.cause;
    panel.measure = facts.measure;
    panel.since = facts.since;
    panel.counters = endpoint.counters();
    panel.last_good = recorder_->last_good(end);
    panel.watchdog = endpoint.settings().watchdog;
    panel.longest_cycle = recorder_->longest_cycle(end);
    panel.scan = endpoint.settings().scan;
    panel.on_since = std::max(facts.on_since, facts.dark_until > now() ? Instant{} : facts.dark_until);
    panel.starts = facts.starts;
    panel.refusal = endpoint.refusal();
    panel.asks_for_acknowledgement = endpoint.acknowledgement_requested();
    panel.dark = now() < facts.dark_until;
    const std::size_t second = static_cast<std::size_t>(proto::seconds(1).ns / sample_every.ns);
    if (record_.latest.size() > second) {
        const std::uint64_t before = record_.latest[record_.latest.size() - 1 - second].received[index_of(end)];
        panel.received_per_second = panel.counters.received >= before ? panel.counters.received - before : 0;
    }
    panel.counted_since = std::max(record_.begins, facts.on_since);
    count_from(panel.counters, counted_before_[index_of(end)]);
    return panel;
}

std::optional<Panel> Bench::neighbour(End end) const {
    const proto::Endpoint* endpoint = cell_->neighbour(end);
    if (endpoint == nullptr) return std::nullopt;
    Panel panel;
    panel.name = scenario_->neighbour->name;
    panel.state = endpoint->state();
    panel.counters = endpoint->counters();
    panel.counted_since = record_.begins;
    count_from(panel.counters, neighbour_before_[index_of(end)]);
    panel.watchdog = endpoint->settings().watchdog;
    panel.scan = endpoint->settings().scan;
    panel.refusal = endpoint->refusal();
    return panel;
}

std::vector<SignalShown> Bench::signals() const {
    std::vector<SignalShown> shown;
    for (std::size_t i = 0; i < scenario_->signals.size(); ++i) {
        const Signal& signal = scenario_->signals[i];
        if (signal.elsewhere) continue;
        SignalShown one;
        one.name = signal.name;
        one.direction = signal.direction;
        const End to = receiver(signal.direction);
        one.sent = (cell_->link().end(sender(signal.direction)).computed() >> i & 1) != 0;
        one.used = (cell_->link().end(to).used() >> i & 1) != 0;
        one.substitute = cell_->link().end(to).endpoint().state() != proto::State::running;
        shown.push_back(std::move(one));
    }
    return shown;
}

}  // namespace sim
