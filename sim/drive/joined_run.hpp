#pragma once
// The links of a cell with those who hear in each: what is rehearsed for people, and what only judges.
#include <cstdint>
#include <memory>
#include <vector>

#include "sim/cell/cell.hpp"
#include "sim/cell/joined_links.hpp"
#include "sim/drive/limits.hpp"
#include "sim/judge/demand_trail.hpp"
#include "sim/judge/far_stops.hpp"
#include "sim/judge/observer.hpp"
#include "sim/judge/witnesses.hpp"
#include "sim/scenario/whole_cell.hpp"

namespace sim {

using LinkHeard = Heard<Observer, LineIfAny, TraceIfAny, DemandTrail, FarStops>;
extern template class Cell<LinkHeard>;
extern template class JoinedLinks<LinkHeard>;

/// One link of it.
struct JoinedLink {
    Scenario scenario;  ///< as it is in the cell
    ScenarioLimits limits;
    Observer observer;
    LineIfAny line;
    TraceIfAny trace;
    DemandTrail trail;
    FarStops far;
    Cell<LinkHeard> cell;

    JoinedLink(const WholeCell& whole, std::size_t link, std::uint64_t seed, Faults faults, const Witnesses& witnesses,
               const std::optional<proto::CrcEngine>& known);
};

struct JoinedRun {
    std::vector<std::unique_ptr<JoinedLink>> links;
    std::unique_ptr<JoinedLinks<LinkHeard>> joined;

    /// The cell and the witnesses, of which there are none or one for each link, must outlive it.
    JoinedRun(const WholeCell& cell, std::uint64_t seed, Faults faults, const std::vector<Witnesses>& witnesses);
};

}  // namespace sim
