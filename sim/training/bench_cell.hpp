#pragma once
// The cell of a bench: nobody judges it; what happens goes into a log and to the recorders beside the ends.
#include "sim/cell/cell.hpp"
#include "sim/cell/joined_links.hpp"
#include "sim/judge/event_log.hpp"
#include "sim/training/recorder.hpp"

namespace sim {

using BenchHeard = Heard<EventLog, Recorder>;
using BenchCell = Cell<BenchHeard>;
extern template class Cell<BenchHeard>;
extern template class JoinedLinks<BenchHeard>;

}  // namespace sim
