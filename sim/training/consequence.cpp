#include "sim/training/consequence.hpp"

#include <algorithm>
#include <memory>

#include "sim/scenario/scenario.hpp"
#include "sim/timing/minimum_distance.hpp"
#include "sim/timing/response.hpp"
#include "sim/training/bench_works.hpp"
#include "sim/training/drill_check.hpp"

namespace sim {
namespace {

/// How the act changes the plant before it goes back into service.
enum class Change : std::uint8_t { none, longer_watchdog, as_the_io_has_it, bridged, contact_held, hands_in };

std::optional<Change> change_of(const std::vector<ActionCard>& cards, const std::string& id) {
    if (id == "restart-early") return Change::none;
    if (id == "restart-machine" || id == "reach-in" || id == "push-by-hand" || id == "cut-lock")
        return Change::hands_in;
    if (id == "carry-on") return Change::none;
    const ActionCard* const card = find_by_id(cards, id);
    if (card == nullptr) return std::nullopt;
    switch (card->does) {
        case Does::acknowledge: return id == "acknowledge" ? std::nullopt : std::optional(Change::none);
        case Does::raise_watchdog: return Change::longer_watchdog;
        case Does::type_other: return Change::as_the_io_has_it;
        case Does::bridge: return Change::bridged;
        case Does::hold_contact: return Change::contact_held;
        default: return card->hands ? std::optional(Change::hands_in) : std::nullopt;
    }
}

constexpr Duration asks_within = proto::seconds(60), comes_back_after = proto::seconds(180);
constexpr Duration typed_off = proto::seconds(10), runs_before = proto::seconds(10), watched = proto::seconds(10);
/// Moments of the cycle at which somebody reaches in.
constexpr unsigned tries_of_cycle = 12;

class Played {
  public:
    Played(const Drill& drill, std::string id, Change change)
        : drill_(drill),
          change_(change),
          bench_(bench_of(drill, drill.scenario.seed)),
          works_of_bench_(*bench_),
          began_(bench_->now()) {
        told_.card = std::move(id);
        told_.steps.push_back({ConsequenceStep::What::done, {}});
        guard_ = guard();
    }

    Consequence play(Duration later) {
        if (change_ == Change::hands_in) {
            // whoever puts the hands in has it standing before
            bench_->press_emergency_stop(true);
            bench_->run_until(bench_->now() + proto::seconds(3));
            bench_->press_emergency_stop(false);
        }
        change_plant();
        if (!back_into_service()) return told_;
        if (change_ == Change::hands_in) return with_hands_in();
        if (returns()) return told_;
        bench_->run_until(bench_->now() + later);
        reach_in();
        return told_;
    }

    /// Only that somebody reaches in, once it runs.
    Consequence reached_into() {
        if (back_into_service()) reach_in();
        return told_;
    }

  private:
    [[nodiscard]] std::size_t guard() const {
        const Scenario& scenario = bench_->scenario();
        if (!scenario.distance) return 0;
        for (std::size_t i = 0; i < scenario.safeguards.size(); ++i)
            if (scenario.safeguards[i].name == scenario.distance->safeguard) return i;
        return 0;
    }
    void step(ConsequenceStep::What what) { told_.steps.push_back({what, bench_->now() - began_}); }

    void change_plant() {
        if (change_ == Change::bridged)
            for (std::size_t i = 0; i < bench_->scenario().safeguards.size(); ++i) works_of_bench_.bridge(i);
        if (change_ == Change::contact_held) works_of_bench_.hold_contact();
        const bool both = change_ == Change::longer_watchdog;
        if (!both && change_ != Change::as_the_io_has_it) return;
        for (std::size_t i = 0; i < bench_->links(); ++i)
            for (const End end : {End::controller, End::device}) {
                if (!both && (end == End::device || i != in_question())) continue;
                works_of_bench_.switch_off(i, end, typed_off);
            }
        bench_->run_until(bench_->now() + proto::seconds(1));
        for (std::size_t i = 0; i < bench_->links(); ++i)
            for (const End end : {End::controller, End::device}) type(i, end);
        bench_->run_until(bench_->now() + typed_off);
    }

    void type(std::size_t link, End end) {
        const Scenario& as_it_is = bench_->of_link(link).scenario();
        proto::LinkSettings meant = as_it_is.end(end).link;
        if (change_ == Change::longer_watchdog) {
            meant.watchdog = Duration{meant.watchdog.ns * 2};
            meant.peer_watchdog = Duration{meant.peer_watchdog.ns * 2};
        } else {
            if (end == End::device || link != in_question()) return;
            meant.peer_address = as_it_is.device.link.own_address;
            meant.peer_watchdog = as_it_is.device.link.watchdog;
            meant.watchdog = as_it_is.device.link.peer_watchdog;
        }
        works_of_bench_.type_at(link, end, meant);
    }

    [[nodiscard]] std::size_t in_question() const { return drill_.cell ? drill_.in_question : 0; }

    /// Acknowledged as soon as it asks, reset, and started; false if the machine does not move then.
    bool back_into_service() {
        const Instant until = bench_->now() + asks_within;
        while (bench_->now() < until && !bench_->asks_for_acknowledgement() && !all_run())
            bench_->run_until(bench_->now() + proto::milliseconds(100));
        if (bench_->asks_for_acknowledgement()) {
            bench_->acknowledge();
            step(ConsequenceStep::What::acknowledged);
        }
        for (std::size_t i = 0; i < bench_->scenario().safeguards.size(); ++i) bench_->reset(i);
        bench_->run_until(bench_->now() + proto::seconds(1));
        if (bench_->anything_moves_unstopped()) return true;
        const std::optional<StartRefusal> refused = bench_->start_machine();
        told_.refusal = refused;
        step(refused ? ConsequenceStep::What::not_started : ConsequenceStep::What::started);
        return !refused;
    }
    [[nodiscard]] bool all_run() const {
        for (std::size_t i = 0; i < bench_->links(); ++i)
            if (!bench_->of_link(i).link().running()) return false;
        return true;
    }

    Consequence with_hands_in() {
        const MachineModel* const machine = bench_->plant().machine();
        const std::int64_t from = machine->travelled(bench_->now());
        bench_->run_until(bench_->now() + proto::seconds(2));
        told_.went_on_um = machine->travelled(bench_->now()) - from;
        told_.kind = ConsequenceKind::hands;
        return told_;
    }

    /// The link stops again, by what is still wrong or by what comes again; with what was changed it need not.
    bool returns() {
        if (change_ != Change::none && change_ != Change::contact_held && change_ != Change::as_the_io_has_it) {
            bench_->run_until(bench_->now() + runs_before);
            return false;
        }
        const Instant runs_since = bench_->now();
        const bool comes_again = drill_.returns_after.has_value();
        bool brought = false;
        while (bench_->now() < runs_since + comes_back_after + proto::seconds(10)) {
            if (comes_again && !brought && bench_->now() >= runs_since + *drill_.returns_after) {
                for (std::size_t i = 0; i < bench_->links(); ++i) works_of_bench_.bring_back(i);
                step(ConsequenceStep::What::came_again);
                brought = true;
            }
            bench_->run_until(bench_->now() + proto::milliseconds(500));
            if (all_run()) continue;
            step(ConsequenceStep::What::fell);
            told_.kind = ConsequenceKind::returned;
            return true;
        }
        return false;
    }

    void reach_in() {
        const MachineModel* const machine = bench_->plant().machine();
        if (machine == nullptr || !bench_->machine_moves()) return;
        const Scenario& scenario = bench_->scenario();
        told_.guard = scenario.safeguards[guard_].name;
        if (scenario.distance && scenario.distance->there_um) {
            told_.there_um = scenario.distance->there_um;
            told_.hand = longest_overall(scenario.distance->how, micrometres(*scenario.distance->there_um));
        }
        told_.reckoned = response_of(scenario, told_.guard).overall;
        const Instant at = bench_->now();
        const std::int64_t from = machine->travelled(at);
        step(ConsequenceStep::What::reached_in);
        // the link may fall silent at any moment, so also just before this demand is on its way
        if (change_ == Change::longer_watchdog) {
            Fault silent;
            silent.way = FaultWay::drop;
            silent.error = error_of(silent.way);
            silent.to_device = silent.to_controller = true;
            silent.lasting = watched;
            bench_->put_in(silent, scenario.safeguards[guard_].delay);
        }
        works_of_bench_.reach_in(guard_, watched + proto::seconds(1));
        bench_->run_until(at + watched);
        if (told_.hand) told_.steps.push_back({ConsequenceStep::What::hand_there, at + *told_.hand - began_});
        told_.went_on_um = machine->travelled(bench_->now()) - from;
        if (bench_->machine_moves()) {
            told_.kind = ConsequenceKind::unguarded;
            return;
        }
        told_.stood = machine->still_at() - at;
        told_.steps.push_back({ConsequenceStep::What::stood, machine->still_at() - began_});
        const bool late = told_.hand && *told_.stood > *told_.hand;
        const bool over = told_.reckoned && *told_.stood > *told_.reckoned;
        const bool near = told_.hand && told_.reckoned && *told_.reckoned > *told_.hand;
        told_.kind = late || over ? ConsequenceKind::late : near ? ConsequenceKind::too_near : ConsequenceKind::guarded;
    }

    const Drill& drill_;
    Change change_;
    std::unique_ptr<Bench> bench_;
    BenchWorks works_of_bench_;
    Instant began_;
    std::size_t guard_ = 0;
    Consequence told_;
};

/// Something differs at the I/O that can be typed at the controller.
bool io_differs(const Scenario& scenario) {
    const proto::LinkSettings &controller = scenario.controller.link, &device = scenario.device.link;
    return controller.peer_address != device.own_address || controller.peer_watchdog != device.watchdog;
}

/// The one in which the machine stands last, or never.
bool worse(const Consequence& a, const Consequence& b) {
    const auto rank = [](const Consequence& one) {
        return one.kind == ConsequenceKind::unguarded ? Duration{proto::never.ns} : one.stood.value_or(Duration{});
    };
    return rank(a) > rank(b);
}

Drill with_its_cause_gone(const Drill& drill) {
    Drill sheet = drill;
    sheet.scenario = drill.link_sheet;
    sheet.cell = drill.cell_sheet;
    return sheet;
}

/// From the guard to standstill on the plant as its sheet has it.
std::optional<Duration> as_it_should_be(const Drill& drill) {
    const Drill sheet = with_its_cause_gone(drill);
    return Played(sheet, "", Change::none).reached_into().stood;
}

/// It lasts, and does its harm on the day on which the machine runs again.
bool outlasts_the_cause(Change change) {
    return change == Change::longer_watchdog || change == Change::bridged || change == Change::hands_in;
}

Consequence worst_of(const Drill& drill, const std::string& id, Change change) {
    std::optional<Consequence> worst;
    const unsigned tries = change == Change::longer_watchdog ? tries_of_cycle : 1;
    for (unsigned i = 0; i < tries; ++i) {
        const Duration later{drill.scenario.controller.link.cycle.ns * i / tries};
        Consequence one = Played(drill, id, change).play(later);
        one.tries = tries;
        if (!worst || worse(one, *worst)) worst = std::move(one);
        if (worst->guard.empty()) break;  // nobody reached in: another moment changes nothing
    }
    return *worst;
}

}  // namespace

std::optional<Consequence> consequence_of(const Drill& drill, const std::vector<ActionCard>& cards,
                                          const std::string& id, bool mended) {
    const std::optional<Change> change = change_of(cards, id);
    if (!change || !drill.scenario.machine) return std::nullopt;
    if (*change == Change::as_the_io_has_it && (mended || !io_differs(drill.scenario))) return std::nullopt;
    Consequence worst = worst_of(mended ? with_its_cause_gone(drill) : drill, id, *change);
    bool gone = mended;
    if (!gone && worst.kind == ConsequenceKind::stands && outlasts_the_cause(*change)) {
        worst = worst_of(with_its_cause_gone(drill), id, *change);
        gone = true;
    }
    if (gone) worst.steps.insert(worst.steps.begin() + 1, {ConsequenceStep::What::cause_gone, {}});
    if (worst.stood && !worst.reckoned) {
        worst.should = as_it_should_be(drill);
        const Duration slack = drill.link_sheet.controller.link.watchdog;
        if (worst.should && *worst.stood > *worst.should + slack) worst.kind = ConsequenceKind::late;
    }
    std::stable_sort(worst.steps.begin(), worst.steps.end(),
                     [](const ConsequenceStep& a, const ConsequenceStep& b) { return a.at < b.at; });
    return worst;
}

}  // namespace sim
