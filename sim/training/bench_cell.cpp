#include "sim/training/bench_cell.hpp"

#include "sim/cell/joined_links_body.hpp"

namespace sim {

template class Cell<BenchHeard>;
template class JoinedLinks<BenchHeard>;

}  // namespace sim
