#pragma once
// A cell with an observer that judges it and, besides, whoever wants to see: what is rehearsed for people.
#include <cstdint>

#include "sim/cell/cell.hpp"
#include "sim/judge/demand_trail.hpp"
#include "sim/judge/observer.hpp"
#include "sim/judge/witnesses.hpp"

namespace sim {

using WatchedCell = Cell<Heard<Observer, LineIfAny, TraceIfAny, DemandTrail>>;
extern template class Cell<Heard<Observer, LineIfAny, TraceIfAny, DemandTrail>>;

struct WatchedRun {
    Observer observer;
    LineIfAny line;
    TraceIfAny trace;
    DemandTrail trail;
    WatchedCell cell;

    /// Requires a scenario that the reader has accepted; it and the witnesses must outlive the run.
    WatchedRun(const Scenario& scenario, std::uint64_t seed, Faults faults, const Limits& limits,
               const Witnesses& witnesses);
    /// Adds what was seen so far to `result`; the witnesses hear no more.
    void finish(RunResult& result, Instant now);
};

}  // namespace sim
