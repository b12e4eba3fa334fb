#include "sim/drive/watched_run.hpp"

#include "sim/cell/cell_body.hpp"

namespace sim {

template class Cell<Heard<Observer, LineIfAny, TraceIfAny, DemandTrail>>;

WatchedRun::WatchedRun(const Scenario& scenario, std::uint64_t seed, Faults faults, const Limits& limits,
                       const Witnesses& witnesses)
    : observer(scenario, limits),
      line(nullptr),  // power on is no change that people see
      trace(nullptr),
      trail(scenario),
      cell(scenario, seed, faults, {{observer, line, trace, trail}}) {
    line = LineIfAny(witnesses.line);
    trace = TraceIfAny(witnesses.trace);
}

void WatchedRun::finish(RunResult& result, Instant now) {
    line = LineIfAny(nullptr);
    trace = TraceIfAny(nullptr);
    cell.finish(result, observer, now);
    trail.put_into(result);
}

}  // namespace sim
