#pragma once
// One trial of a campaign: a start of the link of its own, one fault drawn after one of the scenario's, and what came
// of it, in full detail. A trial is known by the seed and its number alone: it gives the same, to the last bit of its
// trace, alone or among a million others.
//
// It begins at power on. If the scenario has somebody who starts the machine it is started as soon as it may be; who
// acknowledges does so as the scenario says, or as soon as the machine stands still if that is sooner. It ends when
// nothing more can come of the fault: it has been over, and the link has run again after a stop, for as long as an
// effect may still be its own, and no demand is open; or all stands still and nobody acknowledges.
#include <cstdint>
#include <optional>
#include <string>

#include "proto/verdict.hpp"
#include "sim/drive/function_verdict.hpp"
#include "sim/drive/judged_run.hpp"
#include "sim/drive/limits.hpp"
#include "sim/drive/trial_draw.hpp"
#include "sim/judge/result.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

/// What is kept of a trial. Times count from the injection.
struct TrialRecord {
    std::uint64_t trial = 0;
    std::uint32_t fault = 0;  ///< of the scenario, after which it was drawn
    FaultWay way = FaultWay::drop;
    Outcome outcome = Outcome::not_fired;
    TrialPhase phase = TrialPhase::running;
    bool demand = false;  ///< one was made
    bool in_time = true;  ///< the safe state came within `allowed`
    bool started = true;  ///< the link ran
    std::optional<proto::Measure> detected_by;
    std::optional<End> detected_end;
    std::optional<Duration> detect;
    std::optional<Duration> safe_state;  ///< of the end with the output
    std::optional<Duration> standstill;  ///< of a machine that moved
    std::optional<Duration> allowed;     ///< until it stands still; nothing where none can be stated
    std::uint32_t exchanges = 0;         ///< telegrams accepted at the controller
    std::uint32_t cycles = 0;            ///< controller scans
    std::uint32_t spurious = 0;          ///< stops that no fault of the trial had caused
    std::uint64_t digest = 0;            ///< of the trace
    // what its demand showed of the functions that name the guard, one bit each, by their place
    std::uint64_t functions_met = 0, functions_not_met = 0, functions_not_shown = 0;
    /// From the demand, sensor included, until the machine was at its reduced speed, and stood; of what was shown.
    std::optional<Duration> demand_reduced, demand_stands;
    friend bool operator==(const TrialRecord&, const TrialRecord&) = default;
};

class TrialRunner {
  public:
    /// Requires a scenario with a fault, as read_scenario() gives it; it must outlive this.
    TrialRunner(const Scenario& scenario, std::uint64_t seed);

    /// Runs a trial; any of them, in any order.
    TrialRecord run(std::uint64_t trial);

    // ---- of the last trial ----
    /// Everything that was seen; its verdict is not concluded.
    [[nodiscard]] const RunResult& seen() const { return seen_; }
    /// Why it was dangerous; empty if it was not.
    [[nodiscard]] std::string why() const;
    /// The scenario that it was: its fault and its demand with their times.
    [[nodiscard]] const Scenario& scenario() const { return trial_; }
    [[nodiscard]] const ScenarioLimits& limits() const { return limits_; }

  private:
    /// The link runs, the machine too, and there is what the fault may repeat; false if the link does not run.
    [[nodiscard]] bool reach_running(const TrialPlan& plan);
    void allow_for_riding_through(const TrialPlan& plan);
    void place(const TrialPlan& plan);
    void run_to_the_end(const TrialPlan& plan);
    /// By what the demand showed, a stop that was under way at the end of the trial followed to its end.
    void judge_functions();
    [[nodiscard]] TrialRecord record_of(std::uint64_t trial, const TrialPlan& plan) const;

    const Scenario& scenario_;
    const std::uint64_t seed_;
    TrialDraw draw_;
    Scenario trial_;
    ScenarioLimits limits_;
    StatedLimits stated_;
    Duration cycle_;
    bool starts_machine_ = false, acknowledges_ = false;  ///< somebody does
    JudgedRun run_;
    RunResult seen_;
};

}  // namespace sim
