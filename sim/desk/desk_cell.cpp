#include "sim/desk/desk_cell.hpp"

#include "sim/cell/joined_links_body.hpp"

namespace sim {

template class Cell<DeskHeard>;
template class Acts<DeskCell>;
template class JoinedLinks<DeskHeard>;

}  // namespace sim
