#include "sim/cell/crossed_faults.hpp"

#include <algorithm>

#include "proto/contract.hpp"
#include "sim/scenario/whole_cell.hpp"

namespace sim {

CrossedFaults crossed_faults(const WholeCell& cell) {
    CrossedFaults crossed;
    crossed.overheard.resize(cell.links.size());
    for (const CellLink& link : cell.links) {
        std::vector<CrossedFaults::Other>& of = crossed.of.emplace_back(link.alone.faults.size());
        for (std::size_t i = 0; i < of.size(); ++i) {
            const Fault& fault = link.alone.faults[i];
            if (fault.other_link.empty()) continue;
            crossed.any = true;
            of[i].link = cell.link_called(fault.other_link);
            proto::require(of[i].link < cell.links.size(), "a fault with a link that is not there");
            if (fault.way == FaultWay::neighbour) {
                crossed.overheard[of[i].link] = true;
                continue;
            }
            const std::vector<Fault>& there = cell.links[of[i].link].alone.faults;
            const auto same = std::find_if(there.begin(), there.end(), [&](const Fault& one) {
                return one.other_link == link.name && one.where.key == fault.where.key &&
                       one.of_other_link != fault.of_other_link;
            });
            proto::require(same != there.end(), "a fault of two links that strikes one only");
            of[i].fault = static_cast<std::size_t>(same - there.begin());
        }
    }
    return crossed;
}

}  // namespace sim
