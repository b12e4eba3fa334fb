#include "sim/training/bench_cell.hpp"

#include "sim/cell/cell_body.hpp"

namespace sim {

template class Cell<Heard<EventLog, Recorder>>;

}  // namespace sim
