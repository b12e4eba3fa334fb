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
#include <cstddef>
#include <cstdint>
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
    }

    [[nodiscard]] Agenda& agenda() { return agenda_; }
    [[nodiscard]] const Agenda& agenda() const { return agenda_; }
    /// Does the next thing on the agenda; requires one.
    void do_next() { fire(agenda_.take(), host_.true_now()); }

    void put_in_demands();
    /// A fault of an end; requires clocks that may fail.
    void put_in_fault(std::size_t index);
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
