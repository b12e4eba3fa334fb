#pragma once
// What the agenda says, done: demands on safeguards, the operator's acts, ends that fail and are mended. It knows the
// plant and the ends that are here, and no channel.
//
// Host: what the acts happen in. It offers
//   EndRun<Host>* end_here(End)           nullptr if that end is elsewhere
//   Plant& plant(); Clocks& clocks()      clocks of ends that may fail, or true ones
//   void tell(const Fact&)
//   void drive(std::uint64_t signals)     the output's end uses these
//   bool link_runs()                      as far as its ends are here
//   bool way_runs(std::size_t safeguard)  the other links of a cell on its way run
//   Instant true_now()
#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <utility>
#include <vector>

#include "proto/contract.hpp"
#include "sim/cell/agenda.hpp"
#include "sim/judge/events.hpp"
#include "sim/link/clocks.hpp"
#include "sim/link/end_run.hpp"
#include "sim/numeric/random.hpp"
#include "sim/plant/plant.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

template <class Host>
class Acts {
  public:
    using Kind = Agenda::Kind;
    /// Both must outlive it.
    Acts(const Scenario& scenario, Host& host) : scenario_(scenario), host_(host) {}
    /// As it was at first; ends started anew draw from `seed`.
    void begin(std::uint64_t seed) {
        seed_ = seed;
        now_ = {};
        agenda_.begin_again();
        waiting_.clear();
        dark_ = {};
    }

    [[nodiscard]] Agenda& agenda() { return agenda_; }
    [[nodiscard]] const Agenda& agenda() const { return agenda_; }
    /// Does the next thing on the agenda; requires one.
    void do_next() { fire(agenda_.take(), host_.true_now()); }

    void put_in_demands();
    /// A fault of an end; requires clocks that may fail.
    void put_in_fault(std::size_t index);

    // ---- what the scenario has since it runs, by its index there: the same entries that a begin makes of it ----
    /// When the contact of that demand opens, and when it is closed again, held for as long as it must be.
    [[nodiscard]] Instant opens(std::size_t demand) const;
    [[nodiscard]] Instant closes(std::size_t demand) const;
    /// A demand begins of which nobody knows yet how long it lasts; may not lie before now.
    void begin_demand(std::size_t index) { agenda_.note(opens(index), Kind::demand_begins, index); }
    /// It now says how long it lasts, which may not be over before now.
    void end_demand(std::size_t index) { agenda_.note(closes(index), Kind::demand_ends, index); }
    /// An act of the operator at a time that is not before now.
    void put_in_act(const OperatorAct& act) { note_act(act, Instant{} + act.after); }
    /// An end whose power is off gets it back now, as if the fault that took it had said so from its begin; it tells
    /// its start once more. False if it is not off by that fault.
    bool switch_on(std::size_t fault);
    /// A fault of an end is taken out, as if it had said from its begin that it ends now. A start that is under way
    /// goes on.
    void take_out_fault(std::size_t index);
    /// Faults of ends that are still to come are forgotten, and what is wrong with an end is mended.
    void take_out_faults();
    /// What is wrong with an end ends, but for a start that is under way.
    void mend_ends();
    /// From now on no demand comes, nothing fails, and the operator acknowledges whatever asks for it.
    void calm_down();

    /// The operator does what the scenario says for that event.
    void operate(OperatorAct::Event event);
    /// To be called for each change of an end of link 0, once it was told.
    void end_changed(const proto::Transition& transition);
    void acknowledged(bool counted) { now_.acknowledgements += counted ? 1U : 0U; }
    /// How often it has happened up to `now`.
    [[nodiscard]] std::uint64_t happened(FaultCondition::Event event, Instant now) const;
    /// Somebody tries to start the machine now.
    void start_machine() { fire({host_.true_now(), 0, Agenda::Kind::start_machine, 0}, host_.true_now()); }
    /// The application of an end has to compute anew at `at`.
    void wake(End end, Instant at) {
        agenda_.forget([end](const Agenda::Entry& entry) {
            return entry.kind == Kind::application_due && entry.index == static_cast<std::size_t>(end);
        });
        agenda_.note(at, Kind::application_due, static_cast<std::size_t>(end));
    }
    /// A demand by hand, on all contacts, begins or ends after the safeguard's delay; a reset at once.
    void note_by_hand(Agenda::Kind kind, std::size_t safeguard) {
        const Duration delay = kind == Kind::safeguard_reset ? Duration{} : scenario_.safeguards[safeguard].delay;
        agenda_.note(host_.true_now() + delay, kind, safeguard);
    }

  private:
    void note_act(const OperatorAct& act, Instant when);
    void fire(const Agenda::Entry& entry, Instant now);
    void fire_demand(const Agenda::Entry& entry, Instant now);
    void select_mode(const Agenda::Entry& entry, Instant now);
    /// The applications here have to compute anew.
    void mark_stale();
    void set_contact(proto::Endpoint::Contact contact, Instant now);
    void safeguard_changed(std::size_t safeguard, Instant now);
    // `index`: of the fault in the scenario
    void begin_to_fail(std::size_t index, Instant now);
    void fail(std::size_t index, Instant now);
    void restart(EndRun<Host>& end, std::size_t index, Instant now);
    void stall(EndRun<Host>& end, std::size_t index, Instant now);
    void mend(std::size_t index, Instant now);
    void switch_off(EndRun<Host>& end, Instant now);
    void drive_slows(bool slows, Instant now);

    const Scenario& scenario_;
    Host& host_;
    Agenda agenda_;
    std::uint64_t seed_ = 0;
    /// A start that is under way.
    struct Dark {
        std::size_t fault = 0;
        Instant began{}, local{};  ///< by true time and by the end's clock
        Instant not_before{};      ///< it does not scan before that anyway
        Instant on{};
        std::uint64_t entropy = 0;
    };
    std::array<std::optional<Dark>, 2> dark_;  ///< by End: the last one
    std::vector<std::size_t> waiting_;  ///< faults of ends whose time has come, and which wait for the machine to move
    /// What begins anew with a run.
    struct Now {
        std::uint64_t safe_states = 0, acknowledgements = 0;  ///< of either end; those that counted
        std::uint64_t told_free = ~std::uint64_t{0};          ///< safeguards, as was told last
        bool were_running = false;
        bool calm = false;
    } now_;
};

}  // namespace sim
