#include "sim/desk/desk_run.hpp"

#include <algorithm>

#include "proto/contract.hpp"
#include "sim/cell/wiring.hpp"
#include "sim/desk/usual_fault.hpp"
#include "sim/desk/words.hpp"
#include "sim/drive/cell_rehearsal.hpp"
#include "sim/scenario/units.hpp"

namespace sim {
namespace {

std::size_t index_of(End end) { return static_cast<std::size_t>(end); }

Scenario as_begun(Scenario scenario, DeskBench::Begin begin) {
    if (begin == DeskBench::Begin::as_written) return scenario;
    scenario.faults.clear();
    scenario.demands.clear();
    scenario.operator_acts.clear();
    return scenario;
}

WholeCell as_begun(WholeCell cell, DeskBench::Begin begin) {
    for (CellLink& link : cell.links) link.alone = as_begun(std::move(link.alone), begin);
    return cell;
}

Instant whole_step(Instant at, Duration step) {
    const std::int64_t over = at.ns % step.ns;
    return over == 0 ? at : at + Duration{step.ns - over};
}

std::string_view words_of_contact(bool free) { return free ? "free" : "interrupted"; }

}  // namespace

DeskLinkRun::DeskLinkRun(std::string called, Scenario as_it_runs, std::size_t place, std::uint64_t& telegrams,
                         std::uint64_t seed, const std::optional<proto::CrcEngine>& known)
    : name(std::move(called)),
      scenario(std::move(as_it_runs)),
      ear(scenario, place, telegrams),
      cell(scenario, seed, Faults::by_hand, {{ear}}, known),
      touches(scenario.faults.size()) {
    static_cast<void>(ear.take_news());  // power on is no event at a desk
}

DeskRun::DeskRun(const WholeCell& cell, bool several, std::uint64_t seed, DeskBench::Begin begin, DeskTrace* trace)
    : cell_(as_begun(cell, begin)), several_(several), as_written_(begin == DeskBench::Begin::as_written) {
    std::optional<proto::CrcEngine> known;
    std::vector<DeskCell*> cells;
    if (trace != nullptr) trace->resize(cell_.links.size());
    for (std::size_t i = 0; i < cell_.links.size(); ++i) {
        Scenario scenario = several ? in_cell(cell_, i) : cell_.links[i].alone;
        known = crc_tables(scenario, known);
        links_.push_back(std::make_unique<DeskLinkRun>(cell_.links[i].name, std::move(scenario), i, telegrams_,
                                                       several ? seed_of_link(seed, i) : seed, known));
        if (trace != nullptr) links_.back()->ear.trace_into(&(*trace)[i]);
        cells.push_back(&links_.back()->cell);
    }
    if (several) joined_ = std::make_unique<JoinedLinks<DeskHeard>>(cell_, std::move(cells));
}

// ---- time ----

Instant DeskRun::next_of_links() const {
    Instant next = proto::never;
    for (const auto& link : links_) next = std::min(next, link->cell.next_event());
    return next;
}

Instant DeskRun::next_event() const {
    Instant next = next_of_links();
    for (const DeskPutIn& one : put_in_)
        if (one.places.empty() && !one.out && one.begins) next = std::min(next, *one.begins);
    return next;
}

std::uint64_t DeskRun::happenings() const {
    std::uint64_t sum = 0;
    for (const auto& link : links_) sum += link->ear.happenings();
    return sum;
}

std::uint64_t DeskRun::changes() const {
    std::uint64_t sum = 0;
    for (const auto& link : links_) sum += link->ear.changes();
    return sum;
}

void DeskRun::run_links(Instant end) {
    if (end <= now()) return;
    if (joined_)
        joined_->run_until(end);
    else
        links_.front()->cell.run_until(end);
    drain();
}

DeskPutIn* DeskRun::next_to_begin(Instant end) {
    DeskPutIn* next = nullptr;
    for (DeskPutIn& one : put_in_)
        if (one.places.empty() && !one.out && one.begins && *one.begins < end &&
            (next == nullptr || *one.begins < *next->begins))
            next = &one;
    return next;
}

bool DeskRun::waits_for_demand() const {
    return std::any_of(put_in_.begin(), put_in_.end(), [](const DeskPutIn& one) { return !one.begins && !one.out; });
}

void DeskRun::run_until(Instant end) {
    while (now() < end) {
        if (as_written_ && waits_for_demand()) {
            // the file's own demands come without anybody's act
            const Instant next = next_event();
            demand_came_ = false;
            if (DeskPutIn* const due = next_to_begin(std::min(end, next + Duration{1})))
                begin(*due);
            else
                run_links(next < end ? next + Duration{1} : end);
            if (demand_came_) fault_at_next_demand(whole_step(now(), step));
            continue;
        }
        DeskPutIn* const due = next_to_begin(end);
        if (due == nullptr) return run_links(end);
        begin(*due);
    }
}

void DeskRun::run_past_next(Instant limit) {
    const Instant next = next_event();
    run_until(next < limit ? next + Duration{1} : limit);
}

// ---- instants ----

bool DeskRun::meets_something(Instant at) const {
    for (const auto& link : links_)
        if (link->cell.acts().agenda().has(at)) return true;
    return std::any_of(put_in_.begin(), put_in_.end(),
                       [at](const DeskPutIn& one) { return one.places.empty() && !one.out && one.begins == at; });
}

Instant DeskRun::instant_of_act(std::initializer_list<Duration> follow) {
    for (Instant at = whole_step(std::max(now(), last_act_ + step), step);; at = at + step) {
        run_until(at);
        if (now() > at || next_event() <= at) continue;
        if (std::any_of(follow.begin(), follow.end(), [&](Duration after) { return meets_something(at + after); }))
            continue;
        last_act_ = at;
        return at;
    }
}

/// Of a fault whose time has come, or comes with a demand: at the first instant at which nothing else happens.
void DeskRun::begin(DeskPutIn& put_in) {
    Instant at = std::max(*put_in.begins, whole_step(now(), step));
    put_in.begins.reset();  // it meets nothing in itself
    for (;; at = at + step) {
        run_links(at);
        if (next_of_links() > at && !meets_something(at)) break;
    }
    last_act_ = std::max(last_act_, at);
    put_in.begins = at;
    if (!never_begins(put_in)) enter(put_in, at);
}

bool DeskRun::never_begins(DeskPutIn& put_in) {
    const DeskRefusal why = why_not_now(put_in);
    put_in.out = why.has_value();
    if (why)
        happened({0, now(), DeskEvent::Mark::fault, links_[put_in.link]->name,
                  words_of(links_[put_in.link]->scenario, put_in.fault) + ": did not begin, " + why->words});
    return put_in.out;
}

// ---- what is told ----

void DeskRun::happened(DeskEvent event) {
    event.number = ++events_;
    const auto later = std::upper_bound(log_.begin(), log_.end(), event.at,
                                        [](Instant at, const DeskEvent& other) { return at < other.at; });
    log_.insert(later, std::move(event));
    if (log_.size() > DeskBench::events_kept) log_.pop_front();
}

void DeskRun::drain() {
    struct Told {
        Instant at;
        std::size_t link;
        DeskEar::News news;
    };
    std::vector<Told> told;
    for (std::size_t i = 0; i < links_.size(); ++i)
        for (DeskEar::News& news : links_[i]->ear.take_news())
            told.push_back({std::visit([](const auto& fact) { return fact.at; }, news), i, std::move(news)});
    std::stable_sort(told.begin(), told.end(), [](const Told& a, const Told& b) { return a.at < b.at; });
    for (const Told& one : told) std::visit([&](const auto& fact) { note(one.link, fact); }, one.news);
    std::erase_if(power_returns_, [this](const PowerReturns& one) {
        if (one.at > now()) return false;
        const DeskLinkRun& link = *links_[one.link];
        // somebody may have held it off for longer
        if (link.dark_until[index_of(one.end)] == one.at)
            happened({0, one.at, DeskEvent::Mark::other, link.name,
                      link.scenario.end(one.end).name + ": its power is back, it starts"});
        return true;
    });
}

void DeskRun::note(std::size_t link, const Changed& fact) {
    using Mark = DeskEvent::Mark;
    const std::string& name = links_[link]->scenario.end(fact.end).name;
    const proto::Transition& turn = fact.transition;
    if (turn.cause == proto::Cause::power_up)
        return happened({0, fact.at, Mark::stops, links_[link]->name, name + ": without power"});
    const Mark mark = turn.to == proto::State::running     ? Mark::runs
                      : turn.from == proto::State::running ? Mark::stops
                                                           : Mark::other;
    happened({0, fact.at, mark, links_[link]->name, name + " " + words_of(turn)});
}

void DeskRun::note(std::size_t link, const Acknowledged& fact) {
    happened({0, fact.at, DeskEvent::Mark::other, links_[link]->name,
              fact.counted ? "acknowledged" : "acknowledged, but nothing asked for it"});
}

void DeskRun::note(std::size_t link, const MachineTold& fact) {
    if (!fact.command) links_[link]->stopped_by_hand.reset();
    const std::string& name = links_[link]->scenario.machine->name;
    happened({0, fact.at, DeskEvent::Mark::machine, links_[link]->name,
              name + (fact.command ? " commanded: " + std::string(words_of(*fact.command)) +
                                         (fact.speeds_up ? ", back to full speed" : "")
                                   : std::string(" started"))});
}

void DeskRun::note(std::size_t link, const Contacted& fact) {
    if (reads(fact.safeguard) != link) return;
    happened({0, fact.at, DeskEvent::Mark::guard, links_[link]->name,
              links_[link]->scenario.safeguards[fact.safeguard].name + " reads " +
                  std::string(words_of_contact(fact.free))});
}

void DeskRun::note(std::size_t link, const Touched& fact) {
    DeskLinkRun& one = *links_[link];
    const Fault& fault = one.scenario.faults[fact.fault];
    if (fault.at_end && fault.lasting && (fault.way == FaultWay::restart || fault.way == FaultWay::stall)) {
        const std::size_t end = index_of(*fault.at_end);
        // switched off while it stands still, it comes back once both are over
        one.still_until[end] = std::max(one.still_until[end], fact.at + *fault.lasting);
        if (fault.way == FaultWay::restart) {
            one.dark_until[end] = one.still_until[end];
            power_returns_.push_back({one.dark_until[end], link, *fault.at_end});
        }
    }
    if (one.touches.size() <= fact.fault) one.touches.resize(fact.fault + 1);
    if (one.touches[fact.fault]++ == 0)
        happened({0, fact.at, DeskEvent::Mark::fault, one.name, "fault: " + words_of(one.scenario, fault)});
}

void DeskRun::note(std::size_t, const Demanded&) { demand_came_ = true; }

// ---- what there is ----

std::optional<std::size_t> DeskRun::link_called(std::string_view name) const {
    for (std::size_t i = 0; i < links_.size(); ++i)
        if (links_[i]->name == name) return i;
    return std::nullopt;
}

std::optional<std::size_t> DeskRun::guard_called(std::string_view name) const {
    const Scenario& first = links_.front()->scenario;
    const std::size_t place = first.place_of(name);
    if (place == first.safeguards.size()) return std::nullopt;
    return place;
}

std::size_t DeskRun::reads(std::size_t guard) const { return several_ ? cell_.safeguards[guard].value_or(0) : 0; }

bool DeskRun::dark(std::size_t link, End end) const { return now() < links_[link]->dark_until[index_of(end)]; }

}  // namespace sim
