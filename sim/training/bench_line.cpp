// What is done to a bench as a whole: one link by itself, or all links of a line that is moved together.
#include <algorithm>
#include <utility>

#include "sim/cell/pressing.hpp"
#include "sim/drive/cell_rehearsal.hpp"
#include "sim/drive/limits.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "sim/training/bench.hpp"

namespace sim {

namespace {

/// From when the scenario's operator holds the button for good.
std::optional<Instant> held_from(const Scenario& scenario) {
    for (const OperatorAct& act : scenario.operator_acts)
        if (act.act == OperatorAct::Act::hold_acknowledge && act.event == OperatorAct::Event::time)
            return Instant{} + act.after;
    return std::nullopt;
}

std::vector<bool> read_at(const WholeCell& cell, std::size_t link, std::size_t in_question) {
    std::vector<bool> reads;
    for (const std::optional<std::size_t>& at : cell.safeguards) reads.push_back(at.value_or(in_question) == link);
    return reads;
}

}  // namespace

BenchLine::BenchLine(std::string link_name, std::vector<bool> reads)
    : link_name_(std::move(link_name)), reads_(std::move(reads)) {}

BenchLine::~BenchLine() = default;

bool BenchLine::anything_moves() const {
    return std::any_of(all_.begin(), all_.end(), [](const Bench* one) { return one->machine_moves(); });
}

bool BenchLine::anything_moves_unstopped() const {
    return std::any_of(all_.begin(), all_.end(), [](const Bench* one) {
        return one->machine_moves() && one->plant().machine()->mildest() == DriveCommand::run;
    });
}

bool BenchLine::asks_for_acknowledgement() const {
    return std::any_of(all_.begin(), all_.end(), [](const Bench* one) {
        return one->link().end(End::controller).endpoint().acknowledgement_requested();
    });
}

Bench::Bench(Scenario scenario, std::uint64_t seed, std::string link_name, std::vector<bool> reads)
    : BenchLine(std::move(link_name), std::move(reads)),
      scenario_(std::make_unique<Scenario>(std::move(scenario))),
      recorder_(std::make_unique<Recorder>(*scenario_)),
      cell_(std::make_unique<BenchCell>(*scenario_, seed, Faults::by_hand,
                                        Heard<EventLog, Recorder>{{log_, *recorder_}})),
      touched_(scenario_->faults.size(), false),
      written_faults_(scenario_->faults.size()),
      bridged_(scenario_->safeguards.size(), false),
      held_until_(scenario_->safeguards.size()),
      stuck_from_(held_from(*scenario_)),
      stopping_time_(limits_of(*scenario_).stopping) {
    log_.events.clear();  // power on is no event at a bench
    for (std::size_t i = 0; i < written_faults_; ++i) told_as_.emplace_back(i);
    facts_[0].cause = facts_[1].cause = proto::Cause::power_up;
    all_ = {this};
}

Bench::Bench(Scenario scenario, std::uint64_t seed) : Bench(std::move(scenario), seed, "", {}) {
    reads_.assign(scenario_->safeguards.size(), true);
}

Bench::Bench(const WholeCell& cell, std::size_t in_question, std::uint64_t seed)
    : Bench(in_cell(cell, in_question), seed_of_link(seed, in_question), cell.links[in_question].name,
            read_at(cell, in_question, in_question)) {
    all_.clear();
    std::vector<BenchCell*> cells;
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        Bench* one = this;
        if (i != in_question) {
            // only a bench makes one that does not move by itself
            others_.push_back(std::unique_ptr<Bench>(
                new Bench(in_cell(cell, i), seed_of_link(seed, i), cell.links[i].name, read_at(cell, i, in_question))));
            one = others_.back().get();
        }
        all_.push_back(one);
        cells.push_back(one->cell_.get());
    }
    joined_ = std::make_unique<JoinedLinks<BenchHeard>>(cell, std::move(cells));
}

Bench::~Bench() = default;

/// When something of its own is due, at the latest at `end`.
Instant Bench::own_stop_before(Instant end) const {
    Instant next = std::min(end, next_sample_);
    if (let_go_at_) next = std::min(next, *let_go_at_);
    for (const auto& until : held_until_)
        if (until) next = std::min(next, *until);
    return next;
}

void Bench::move_to(Instant end) {
    if (joined_)
        joined_->run_until(end);
    else
        cell_->run_until(end);
}

void Bench::run_until(Instant end) {
    while (now() < end) {
        Instant next = end, event = proto::never;
        each([&](const Bench& one) {
            next = std::min(next, one.own_stop_before(end));
            event = std::min(event, one.cell_->next_event());
        });
        // each instant by itself: what is told does not depend on how far a call goes
        move_to(event < next ? event + Duration{1} : next);
        bool demanded = false;
        each([&](Bench& one) {
            one.drain();
            demanded = std::exchange(one.demand_came_, false) || demanded;
        });
        if (demanded) put_in_what_waits();
        each([](Bench& one) {
            one.let_go_when_due();
            if (one.now() >= one.next_sample_) one.sample();
        });
    }
}

void Bench::begin_record() {
    each([](Bench& one) { one.begin_own_record(); });
}

void Bench::acknowledge(std::optional<std::size_t> link) {
    if (link) return all_[*link]->press_own_button();
    each([](Bench& one) { one.press_own_button(); });
}

void Bench::press_own_button() {
    if (stuck_from_ && now() >= *stuck_from_) {
        happened({BenchEvent::Kind::contact_stuck, now(), End::controller, std::nullopt, 0});
        return;
    }
    contact_ = true;
    Hand(*cell_).set_acknowledge(proto::Endpoint::Contact::closed);
    let_go_at_ = now() + press_lasts;
    drain();
}

std::optional<StartRefusal> Bench::start_machine(std::optional<std::size_t> link) {
    return link ? all_[*link]->start_own_machine() : start_own_machine();
}

std::optional<StartRefusal> Bench::start_own_machine() {
    const MachineModel* const machine = plant().machine();
    std::optional<StartRefusal> why;
    if (machine == nullptr)
        why = StartRefusal::no_machine;
    else if (machine->started())
        why = StartRefusal::runs_already;
    else if (!Hand(*cell_).start_machine())
        why = why_not_started(*machine);
    drain();
    if (why)
        happened({BenchEvent::Kind::machine_not_started, now(), plant().output_end(), std::nullopt,
                  static_cast<std::size_t>(*why)});
    return why;
}

StartRefusal Bench::why_not_started(const MachineModel& machine) const {
    if (machine.held(MachineModel::Hold::isolation)) return StartRefusal::isolated;
    if (machine.held(MachineModel::Hold::emergency_stop)) return StartRefusal::emergency_stop;
    const proto::Endpoint& commands = link().end(plant().output_end()).endpoint();
    return commands.state() == proto::State::running ? StartRefusal::stop_asked_for : StartRefusal::link_stopped;
}

void Bench::isolate(bool isolated) {
    each([&](Bench& one) {
        const MachineModel* const machine = one.plant().machine();
        if (machine == nullptr || machine->held(MachineModel::Hold::isolation) == isolated) return;
        Hand(*one.cell_).hold_machine(MachineModel::Hold::isolation, isolated);
        one.drain();
        one.happened(
            {BenchEvent::Kind::isolated, one.now(), one.plant().output_end(), std::nullopt, isolated ? 1U : 0U});
        if (isolated) one.start_own_machine();
    });
}

void Bench::demand(std::size_t safeguard) {
    if (safeguard >= held_until_.size() || held_until_[safeguard]) return;
    hold_demand(safeguard, test_lasting);
    each([&](Bench& one) {
        if (one.reads_guard(safeguard))
            one.happened(
                {BenchEvent::Kind::demanded, now(), one.scenario_->safeguards[safeguard].at, std::nullopt, safeguard});
        one.keep_around_demand(now());
    });
}

void Bench::hold_demand(std::size_t safeguard, Duration lasting) {
    each([&](Bench& one) {
        if (one.held_until_[safeguard]) return;
        if (!one.bridged_[safeguard]) Hand(*one.cell_).demand(safeguard);
        one.held_until_[safeguard] = now() + lasting;
    });
    put_in_what_waits();
}

void Bench::reset(std::size_t safeguard) {
    if (safeguard >= held_until_.size()) return;
    each([&](Bench& one) {
        Hand(*one.cell_).reset(safeguard);
        if (one.reads_guard(safeguard))
            one.happened(
                {BenchEvent::Kind::reset, now(), one.scenario_->safeguards[safeguard].at, std::nullopt, safeguard});
    });
}

void Bench::press_emergency_stop(bool pressed) {
    each([&](Bench& one) {
        Hand(*one.cell_).hold_machine(MachineModel::Hold::emergency_stop, pressed);
        one.drain();
    });
    happened({BenchEvent::Kind::emergency_stop, now(), End::device, std::nullopt, pressed ? 1U : 0U});
}

void Bench::take_out_faults() {
    each([](Bench& one) {
        one.at_next_demand_.clear();
        one.cell_->take_out_faults();
    });
}

}  // namespace sim
