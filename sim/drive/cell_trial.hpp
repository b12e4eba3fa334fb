#pragma once
// One trial of a campaign over a whole cell: all links joined at their controller and started, one fault drawn in one
// of them (one of the controller in all of them), every second time a demand on any guard of the cell around it. Fault,
// moment and demand are drawn as for one link (trial.hpp), and judged as the rehearsal of a cell judges them: each link
// by its own observer, a demand where its machine is and over all links of its way, and a machine behind the struck
// link by what becomes of it. A trial is known by the seed and its number alone.
#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "sim/cell/cell.hpp"
#include "sim/cell/joined_links.hpp"
#include "sim/drive/cell_campaign.hpp"
#include "sim/drive/cell_result.hpp"
#include "sim/drive/function_verdict.hpp"
#include "sim/drive/limits.hpp"
#include "sim/drive/trial.hpp"
#include "sim/drive/trial_draw.hpp"
#include "sim/judge/far_stops.hpp"
#include "sim/judge/observer.hpp"

namespace sim {

using TrialHeard = Heard<Observer, FarStops>;
extern template class Cell<TrialHeard>;
extern template class JoinedLinks<TrialHeard>;

class CellTrialRunner {
  public:
    /// The campaign must outlive this.
    CellTrialRunner(const CellCampaign& campaign, std::uint64_t seed);
    ~CellTrialRunner();
    CellTrialRunner(const CellTrialRunner&) = delete;
    CellTrialRunner& operator=(const CellTrialRunner&) = delete;

    /// Runs a trial; any of them, in any order. Of several machines that it stops the record has the times of the one
    /// that came nearest to its bound; of a link without a machine, the safe state is that of both ends.
    TrialRecord run(std::uint64_t trial);

    // ---- of the last trial ----
    /// Each link's own result, and the stops of machines behind the struck link; no verdict is concluded.
    [[nodiscard]] const CellResult& seen() const { return seen_; }
    /// Why it was dangerous; empty if it was not.
    [[nodiscard]] const std::string& why() const { return why_; }
    /// The cell that it was: the faults and demands of its links with their times.
    [[nodiscard]] const WholeCell& cell() const { return trial_; }
    /// Where its fault struck; several for one of the controller.
    [[nodiscard]] const std::vector<FaultOfLink>& struck() const { return *struck_; }

  private:
    struct Link;
    [[nodiscard]] TrialPlan draw(std::uint64_t trial);
    void begin_again(const TrialPlan& plan);
    [[nodiscard]] bool reach_running(const TrialPlan& plan);
    [[nodiscard]] bool all_machines_started();
    void place(const TrialPlan& plan);
    void run_to_the_end(const TrialPlan& plan);
    [[nodiscard]] Instant quiet_from(const TrialPlan& plan, Instant over) const;
    /// A link stands and nobody acknowledges, or everything runs: nothing more comes of it.
    [[nodiscard]] bool at_rest(Instant now) const;
    /// Some machine is on its way to a standstill that was commanded.
    [[nodiscard]] bool stopping(Instant now) const;
    void judge(const TrialPlan& plan);
    /// One that moves on when the trial ends is followed until its time is over.
    void judge_far_stops(const TrialPlan& plan);
    void judge_demands_of(std::size_t link, Instant end);
    [[nodiscard]] TrialRecord record_of(std::uint64_t trial, const TrialPlan& plan) const;
    void put_reaction(TrialRecord& record) const;
    void put_functions(TrialRecord& record, const TrialPlan& plan) const;

    const CellCampaign& campaign_;
    const std::uint64_t seed_;
    WholeCell trial_;  ///< its links with what was drawn, for what judges over links
    std::vector<std::unique_ptr<Link>> links_;
    std::unique_ptr<JoinedLinks<TrialHeard>> joined_;
    Duration cycle_{}, reactions_{}, stopping_{};  ///< longest; sum; longest
    const std::vector<FaultOfLink>* struck_ = nullptr;
    std::size_t fault_ = 0;  ///< of the campaign, after which the last one was drawn
    CellResult seen_;
    std::vector<std::uint64_t> met_, not_met_;  ///< by link: functions of the cell, one bit each
    bool bounds_held_ = true;
    std::string why_;
};

}  // namespace sim
