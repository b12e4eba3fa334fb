#include "sim/training/bench_cell.hpp"

#include "sim/cell/joined_links_body.hpp"

namespace sim {

template class Cell<BenchHeard>;
template class JoinedLinks<BenchHeard>;
// what no cell asks for by itself
template bool Acts<BenchCell>::switch_on(std::size_t);

}  // namespace sim
