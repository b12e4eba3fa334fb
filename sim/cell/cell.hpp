#pragma once
// A cell in virtual time: the link under rehearsal, its neighbour, the channel with its faults and the plant, moved
// from event to event. There is no queue of all events: the next one is the least of a few deadlines, and only the
// channel and the agenda keep small sorted arrays.
//
//   safeguards - station - end ~ channel with fault stages ~ end - station - machine
//                             \_________ who hears _________/
//
// H: who hears (sim/judge/heard.hpp). Bodies in cell_body.hpp, for the units that make a kind of cell.
#include <algorithm>
#include <array>
#include <cstdint>
#include <limits>
#include <memory>
#include <optional>
#include <vector>

#include "sim/cell/acts.hpp"
#include "sim/cell/neighbour_link.hpp"
#include "sim/channel/channel.hpp"
#include "sim/channel/fault_stages.hpp"
#include "sim/judge/heard.hpp"
#include "sim/judge/run_result.hpp"
#include "sim/link/clocks.hpp"
#include "sim/link/link_run.hpp"
#include "sim/link/station.hpp"
#include "sim/plant/plant.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

/// Which of the scenario's faults a run is made ready for.
enum class Faults : std::uint8_t {
    none,
    all,      ///< put in from the beginning
    later,    ///< none yet, but ready for put_in_faults_and_demands()
    by_hand,  ///< all, and ready for any that put_in() brings; a neighbour that the scenario has runs, needed or not
};

template <class H>
class JoinedLinks;
template <class Link>
class JoinedScan;

/// What one link of a cell asks of the others.
class LinksBeside {
  public:
    /// The other links run that a demand of that safeguard crosses on its way to the machine of link number `link`.
    [[nodiscard]] virtual bool way_runs(std::size_t link, std::size_t safeguard) const = 0;

  protected:
    ~LinksBeside() = default;
};

template <class H>
class Cell final : private Surroundings, private InjectionLog {
  public:
    /// Requires a scenario that the reader has accepted; it must outlive the cell, and so must who hears.
    /// `known`: tables of a check, which are shared where they are of this link's.
    Cell(const Scenario& scenario, std::uint64_t seed, Faults faults, H heard,
         const std::optional<proto::CrcEngine>& known = std::nullopt);
    Cell(const Cell&) = delete;
    Cell& operator=(const Cell&) = delete;
    ~Cell() = default;

    /// As if made anew for the faults, the demands and the operator's acts that the scenario now has; all else in it
    /// must be as it was, but for what Channel::begin_again() allows. Costs a fraction of a new one.
    void begin_again(std::uint64_t seed, Faults faults);
    /// Puts in the scenario's faults and demands while the cell runs, for one that began Faults::later and without
    /// demands. Only the times of the faults may have changed since, and none may lie before now().
    void put_in_faults_and_demands();
    /// What stray telegrams are taken from in a cell that begins Faults::later; see earlier_start().
    void know_earlier_start(std::array<std::vector<Past>, 2> strays) { stages_.strays = std::move(strays); }
    /// Puts in the fault of that index, which the scenario now has. Requires Faults::by_hand and a begin by a time that
    /// is not before now().
    void put_in(std::size_t fault);
    /// Takes every fault out; what one has already done stays done. Or that one `only`, as if it had said from its
    /// begin that it ends now: how many process telegrams of each direction it has acted on, if it is one of the way.
    std::array<std::uint64_t, 2> take_out_faults(std::optional<std::size_t> only = {});

    /// Runs every event before `end`.
    void run_until(Instant end) {
        run_on_until(end);
        deliver_before(end);
    }
    /// The same for a driver that soon goes on: what has arrived by then may still lie in the channel until its end
    /// fetches it, which spares handing it over at each stop. All else stands as after run_until(), which may follow.
    void run_on_until(Instant end);
    /// run_on_until() the first of the times now() + n * step, n from 1 on, that is not before `end` or before which an
    /// end changed its state: for who would look at each of them, but only at the states. Requires a step above 0.
    void run_on_by(Duration step, Instant end);
    /// From now on no fault acts and no demand comes, and the operator acknowledges whatever asks for it.
    void calm_down();
    /// Somebody tries to start the machine now; false if it still is not started.
    bool try_to_start_machine();
    /// The drive is commanded anew by what the output's end uses: after somebody's act at the machine.
    void drive_again() { drive(link_.end(plant_.output_end()).used()); }

    /// Adds what `observer` saw until now, and what ends and safeguards came to; the cell may not run on for it.
    void finish(RunResult& result, Observer& observer, Instant now) const;
    [[nodiscard]] Instant now() const { return run_.now; }
    [[nodiscard]] std::uint64_t cycles() const { return run_.cycles; }
    /// When something next happens at an end, on the way or by somebody's act.
    [[nodiscard]] Instant next_event() const;
    /// What an end's own clock says now.
    [[nodiscard]] Instant clock_of(End end) const { return clocks_.local(end, run_.now); }
    /// So much time, with so many scans of the controller, was passed over: only its owner knows how.
    void pass(Duration by, std::uint64_t cycles) {
        run_.now = run_.now + by;
        run_.cycles += cycles;
    }
    /// Nothing but the link's own exchange moves: no end fails and there is no neighbour.
    [[nodiscard]] bool plain() const { return !clocks_.any_fail() && neighbour_ == nullptr; }

    [[nodiscard]] LinkRun<Cell>& link() { return link_; }
    [[nodiscard]] const LinkRun<Cell>& link() const { return link_; }
    [[nodiscard]] Channel& channel() { return channel_; }
    [[nodiscard]] Plant& plant() { return plant_; }
    [[nodiscard]] const Plant& plant() const { return plant_; }
    [[nodiscard]] Acts<Cell>& acts() { return acts_; }
    /// An end of the neighbour link; nullptr if that does not run.
    [[nodiscard]] const proto::Endpoint* neighbour(End end) const {
        return neighbour_ ? &neighbour_->endpoint(end) : nullptr;
    }

  private:
    // ---- one of several links at one controller ----
    friend class JoinedLinks<H>;
    friend class JoinedScan<Cell>;
    [[nodiscard]] Station<End::controller, Cell>& joined_station() { return controller_; }
    void scanned() { ++run_.cycles; }
    /// Before that no fault touches anything here.
    [[nodiscard]] Instant untouched_before() const {
        return clocks_.any_fail() ? Instant{std::numeric_limits<std::int64_t>::min()} : channel_.untouched_before();
    }
    /// Everything but scans of the controller, up to and at `last`.
    [[gnu::always_inline]] void run_others_until(Instant last);
    void do_other(Instant now, Instant due);
    [[nodiscard]] Instant next_of_others() const {
        const Instant due = one_by_one_ ? channel_.next_due() : proto::never;
        return std::min({due, acts_.agenda().next(), run_.next_neighbour, device_.next_scan()});
    }

    // ---- host of the ends, the stations and the acts ----
    friend class EndRun<Cell>;
    friend class Station<End::controller, Cell>;
    friend class Station<End::device, Cell>;
    friend class Acts<Cell>;
    template <class F>
    [[gnu::always_inline]] void tell(const F& fact) {
        heard_.tell(fact);
    }
    [[nodiscard]] Instant true_now() const { return run_.now; }
    [[nodiscard]] Clocks& clocks() { return clocks_; }
    [[nodiscard]] Cell& out() { return *this; }
    [[nodiscard]] Telegram& slot() { return channel_.slot(); }
    [[gnu::always_inline]] void offer(Telegram& telegram, Tag tag, Instant now);
    [[nodiscard]] bool link_runs() const { return link_.running(); }
    [[nodiscard]] EndRun<Cell>* end_here(End end) { return &link_.end(end); }
    [[nodiscard]] bool way_runs(std::size_t safeguard) const {
        return joined_ == nullptr || joined_->way_runs(place_, safeguard);
    }
    void end_changed(EndRun<Cell>& end, const proto::Transition& transition);
    void end_acknowledged(EndRun<Cell>& end, bool counted);
    template <End which, class Look>
    [[gnu::always_inline]] void arrivals(Instant now, Look look);
    void drive(std::uint64_t signals);
    void wake(End end, Instant at) { acts_.wake(end, at); }
    /// Of a link alone the other links of its cell bring everything at once.
    [[nodiscard]] std::uint64_t elsewhere(const Application& application, std::uint64_t received) const {
        return joined_ != nullptr ? others_bring_ : application.elsewhere(plant_.inputs(received));
    }

    // ---- what faults hear and ask ----
    void touched(std::size_t fault, Direction direction, Instant since, Instant now) override {
        tell(Touched{fault, direction, since, now});
    }
    [[nodiscard]] proto::State state(End end) const override { return link_.end(end).endpoint().state(); }
    [[nodiscard]] bool machine_moves(Instant now) const override { return plant_.machine_moves(now); }
    [[nodiscard]] std::int64_t machine_position(Instant now) const override;
    [[nodiscard]] std::uint64_t happened(FaultCondition::Event event, Instant now) const override {
        return acts_.happened(event, now);
    }

    void begin(Faults faults);
    void put_in_faults();
    void put_in_fault(std::size_t index);
    void keep_apart();
    void deliver();
    void deliver_before(Instant end);
    [[nodiscard]] Instant step_after(Instant time) const;
    void know_how_to_deliver();

    // What each scan asks for lies together: with many links in turn each line and page of memory counts.
    H heard_;
    Clocks clocks_;
    /// What begins anew with a run.
    struct Run {
        Instant now{};
        Instant next_neighbour = proto::never;
        bool fell = false;  ///< of a joined link: it stopped since that was last asked
        std::uint64_t cycles = 0;
        Instant until{};         ///< run_on_until() ends there; sooner once an end changed, if there is a step
        Instant stepped_from{};  ///< run_on_by()
        Duration step{};         ///< of run_on_by(), else 0
    } run_;
    /// Each telegram is handed to its end when it arrives, instead of being fetched by the next scan: where somebody
    /// hears of it, an end may be without power, or there is a neighbour.
    bool one_by_one_ = false;
    bool apart_;                           ///< the ends cannot reach each other, so that nothing arrives at either
    const LinksBeside* joined_ = nullptr;  ///< who moves it, as one of several links
    std::size_t place_ = 0;                ///< its own among them
    std::uint64_t others_bring_ = 0;       ///< signals, as the other links' controller ends use them
    Plant plant_;
    const Scenario& scenario_;
    std::uint64_t seed_;
    StageContext stages_;
    std::optional<proto::CrcEngine> tables_;
    LinkRun<Cell> link_;
    alignas(64) Station<End::controller, Cell> controller_;
    alignas(64) Station<End::device, Cell> device_;
    std::unique_ptr<NeighbourLink> neighbour_, idle_neighbour_;  ///< idle: made for an earlier beginning
    Acts<Cell> acts_;
    Channel channel_;  ///< the last, since most of it is room
};

}  // namespace sim
