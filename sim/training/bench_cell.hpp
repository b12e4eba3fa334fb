#pragma once
// The cell of a bench: nobody judges it; what happens goes into a log and to the recorders beside the ends.
#include "sim/cell/cell.hpp"
#include "sim/judge/event_log.hpp"
#include "sim/training/recorder.hpp"

namespace sim {

using BenchCell = Cell<Heard<EventLog, Recorder>>;
extern template class Cell<Heard<EventLog, Recorder>>;

}  // namespace sim
