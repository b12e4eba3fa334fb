#pragma once
// What one trial of a campaign does: a fault drawn after one of the scenario's, when it begins, and what else goes on
// then. Everything comes from the seed and the trial's number, by whole numbers only.
//
// Kind: each fault of the scenario alike; of an error of the way every second time as the scenario has it, else any way
// of that error that the scenario allows (those between neighbours need one). Place: every second time the scenario's
// direction, else any; bits, fields, lengths and how far back are drawn anew. Extent: one telegram, some, or all of a
// time of up to four watchdogs. How much: latency of up to two watchdogs, or up to what the scenario has if that is
// more; latency that creeps, up to three; an end is off or still for up to what the scenario has. Conditions of the
// scenario's faults are left out, since the phase is drawn. Phase: any microsecond of a cycle of the link that runs,
// one time in sixteen of its start. Load: every second time a demand on one of the safeguards, from just before the
// fault until after it; and where other traffic queues, any load of it up to the scenario's highest.
#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "sim/numeric/random.hpp"
#include "sim/scenario/channel.hpp"
#include "sim/scenario/faults.hpp"

namespace sim {

struct Scenario;

enum class TrialPhase : std::uint8_t { running, starting };

/// Times count from the fault's begin.
struct TrialPlan {
    std::size_t fault = 0;  ///< of the scenario, after which this one was drawn
    TrialPhase phase = TrialPhase::running;
    Duration lead{};            ///< from the link's running (starting: from power on) to the begin
    unsigned exchanges = 0;     ///< that must have been before, for what it repeats
    Duration acts_for{};        ///< nothing is touched later than that
    Duration latency{};         ///< the longest that it adds
    bool demand = false;        ///< Scenario::demands has one, at `contact`
    Duration contact{};         ///< of the demand; below 0 before the fault
    std::size_t safeguard = 0;  ///< demanded
};

/// One fault of each error that this scenario allows, for a campaign of a scenario that names none.
std::vector<Fault> every_error(const Scenario& scenario);

/// Of a link of a cell that is tried as one of all its links.
struct OneOfSeveral {
    /// A demand may come so long before the fault, so that one from another link may be under way.
    Duration demand_before{};
};

class TrialDraw {
  public:
    /// Requires a scenario with a fault, as the reader gives it; it must outlive this. Of a link that is `one_of`
    /// several every guard of the cell may be demanded, and it may be without a fault.
    explicit TrialDraw(const Scenario& scenario, std::optional<OneOfSeveral> one_of = {});

    /// Draws the trial and writes its one fault, its demand if there is one, and the load of other traffic into
    /// `trial`, a copy of the scenario. Fault and demand have no times yet. `like`: the fault of the scenario after
    /// which it is drawn; nothing: that is drawn too.
    TrialPlan draw(std::uint64_t seed, std::uint64_t number, Scenario& trial,
                   std::optional<std::size_t> like = {}) const;
    /// The load of other traffic alone, for a link that the trial's fault does not strike.
    void draw_load(std::uint64_t seed, std::uint64_t number, Scenario& trial) const;

    /// The ways of the error of `fault` that this scenario allows.
    [[nodiscard]] std::vector<FaultWay> ways_of(const Fault& fault) const;

  private:
    class Draws;
    static void draw_place(Draws& draws, const Fault& like, Fault& fault);
    void draw_extent(Draws& draws, Fault& fault) const;
    void draw_bits(Draws& draws, Fault& fault) const;
    void draw_what(Draws& draws, const Fault& like, Fault& fault, TrialPlan& plan) const;
    static void draw_failing_end(Draws& draws, const Fault& like, Fault& fault);
    void draw_demand(Draws& draws, TrialPlan& plan, Scenario& trial) const;
    static void draw_load_of(Draws& draws, const ChannelSettings& from, ChannelSettings& to);
    [[nodiscard]] Duration longest_extent(const Fault& fault) const;

    static constexpr std::size_t field_count = 6;
    const Scenario& scenario_;
    Duration cycle_, watchdog_;                ///< the longer of the two ends'
    Duration demand_before_;                   ///< the fault, at most
    std::vector<std::vector<FaultWay>> ways_;  ///< by fault of the scenario
    /// Bits of each field and bytes of a telegram, by direction.
    std::array<std::array<unsigned, field_count>, 2> bits_{};
    std::array<unsigned, 2> bytes_{};
    unsigned crc_bits_ = 0;
    std::vector<std::size_t> guards_;  ///< that may be demanded
};

}  // namespace sim
