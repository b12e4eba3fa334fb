#pragma once
// The inside of a desk's bench: its links and their time, and everything that people did to them.
#include <array>
#include <cstddef>
#include <cstdint>
#include <deque>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "sim/desk/desk_bench.hpp"
#include "sim/desk/desk_cell.hpp"
#include "sim/desk/desk_ear.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/whole_cell.hpp"

namespace sim {

/// One link while it runs.
struct DeskLinkRun {
    std::string name;
    Scenario scenario;  ///< what people do is added to it; it stays where it is
    DeskEar ear;
    DeskCell cell;
    std::array<Instant, 2> still_until{}, dark_until{};  ///< by End: it does not scan, it has no power
    std::vector<std::uint64_t> touches;                  ///< by fault: how often it touched something
    /// Its emergency stop was pressed then, and the machine not started since: what became of its motion is no doing of
    /// the link.
    std::optional<Instant> stopped_by_hand{};

    DeskLinkRun(std::string called, Scenario as_it_runs, std::size_t place, std::uint64_t& telegrams,
                std::uint64_t seed, const std::optional<proto::CrcEngine>& known);
};

/// A demand by hand: number `demand` of each link's scenario.
struct DeskDemand {
    std::size_t guard = 0, demand = 0;
    Instant at{};
    bool held = true;
    Instant closes = proto::never;  ///< its contact
};

/// An act of the operator by hand.
struct DeskOperator {
    OperatorAct act;
    std::optional<std::size_t> link;  ///< nothing: all
};

/// A fault by hand: put in, a cable that is out, a supply that is off.
struct DeskPutIn {
    enum class Kind : std::uint8_t { fault, cable, power };
    Kind kind = Kind::fault;
    std::size_t link = 0;
    Fault fault;                    ///< as it begins
    std::optional<Instant> begins;  ///< nothing: with the next demand
    /// Link and index there, once it has begun: of the controller of several links one in each.
    std::vector<std::pair<std::size_t, std::size_t>> places = {};
    bool open = false;  ///< its end is still to come: nobody knows when
    bool out = false;   ///< it was taken out, or never began
};

class DeskRun {
  public:
    DeskRun(const WholeCell& cell, bool several, std::uint64_t seed, DeskBench::Begin begin, DeskTrace* trace);

    // ---- time ----
    [[nodiscard]] Instant now() const { return links_.front()->cell.now(); }
    /// Runs every event before `end`; faults that are to begin meanwhile do.
    void run_until(Instant end);
    /// Past the next instant in which anything happens, at most to `limit`.
    void run_past_next(Instant limit);
    /// When something next happens.
    [[nodiscard]] Instant next_event() const;
    /// Of all links.
    [[nodiscard]] std::uint64_t happenings() const;
    [[nodiscard]] std::uint64_t changes() const;

    // ---- acts ----
    /// Runs to the instant of an act, from which on so long something follows from it.
    Instant instant_of_act(std::initializer_list<Duration> follow);
    /// Notes an act; `refused` as it came out.
    DeskRefusal did(Instant at, std::string words, DeskRefusal refused = {});
    /// Another act is possible.
    [[nodiscard]] DeskRefusal why_no_more() const;
    /// Does what was noted for that instant.
    void pass(Instant at) { run_until(at + Duration{1}); }
    void operate(const OperatorAct& act, std::optional<std::size_t> link);
    void interrupt(std::size_t guard);
    void let_go(DeskDemand& demand);
    /// A fault that people put in begins at `at`, which is now.
    void enter(DeskPutIn& put_in, Instant at);
    /// Why it cannot begin now.
    [[nodiscard]] DeskRefusal why_not_now(const DeskPutIn& put_in) const;
    /// That is so, and it is told.
    bool never_begins(DeskPutIn& put_in);
    void take_out(DeskPutIn& put_in);
    void cable_in(DeskPutIn& cable);
    void power_on(DeskPutIn& power);
    void fault_at_next_demand(Instant at);

    // ---- what there is ----
    [[nodiscard]] std::optional<std::size_t> link_called(std::string_view name) const;
    [[nodiscard]] std::optional<std::size_t> guard_called(std::string_view name) const;
    /// The link that reads the guard, or 0.
    [[nodiscard]] std::size_t reads(std::size_t guard) const;
    [[nodiscard]] DeskPutIn* open(DeskPutIn::Kind kind, std::size_t link, std::optional<End> end = {});
    [[nodiscard]] bool dark(std::size_t link, End end) const;

    const WholeCell cell_;  ///< as it began
    const bool several_, as_written_;
    std::vector<std::unique_ptr<DeskLinkRun>> links_;
    std::vector<DeskAct> acts_;
    std::deque<DeskEvent> log_;
    std::deque<DeskPutIn> put_in_;
    std::vector<DeskDemand> demands_;
    std::vector<DeskOperator> operated_;
    std::optional<Instant> first_stop_;  ///< of an emergency stop

  private:
    struct PowerReturns {
        Instant at{};
        std::size_t link = 0;
        End end = End::controller;
    };
    void run_links(Instant end);
    void drain();
    void note(std::size_t link, const Changed& fact);
    void note(std::size_t link, const Acknowledged& fact);
    void note(std::size_t link, const MachineTold& fact);
    void note(std::size_t link, const Contacted& fact);
    void note(std::size_t link, const Touched& fact);
    void note(std::size_t link, const Demanded& fact);
    void happened(DeskEvent event);
    [[nodiscard]] Instant next_of_links() const;
    [[nodiscard]] bool meets_something(Instant at) const;
    [[nodiscard]] bool waits_for_demand() const;
    DeskPutIn* next_to_begin(Instant end);
    void begin(DeskPutIn& put_in);

    std::unique_ptr<JoinedLinks<DeskHeard>> joined_;  ///< nothing: one link alone
    std::uint64_t telegrams_ = 0, events_ = 0;
    Instant last_act_{};
    bool demand_came_ = false;
    std::vector<PowerReturns> power_returns_;
    static constexpr Duration step = Duration{1'000};
};

/// Longer than any run: a fault whose end nobody knows yet.
inline constexpr Duration open_end = proto::seconds(100'000'000);

}  // namespace sim
