#pragma once
// The links of a desk's bench: nobody judges them, an ear beside each keeps what is shown.
#include "sim/cell/cell.hpp"
#include "sim/cell/joined_links.hpp"
#include "sim/desk/desk_ear.hpp"

namespace sim {

using DeskHeard = Heard<DeskEar>;
using DeskCell = Cell<DeskHeard>;
extern template class Cell<DeskHeard>;
extern template class JoinedLinks<DeskHeard>;

}  // namespace sim
