#include "sim/drive/judged_links.hpp"

#include <utility>

#include "sim/cell/wiring.hpp"
#include "sim/drive/cell_rehearsal.hpp"

namespace sim {

JudgedLink::JudgedLink(const WholeCell& whole, std::size_t link, std::uint64_t seed, Faults faults,
                       const std::optional<proto::CrcEngine>& known)
    : scenario(in_cell(whole, link)),
      limits(limits_in_cell(whole, link)),
      observer(scenario, limits.limits),
      cell(scenario, seed, faults, {{observer}}, known) {}

JudgedLinks::JudgedLinks(const WholeCell& cell, std::uint64_t seed, Faults faults) {
    std::vector<JudgedCell*> cells;
    std::optional<proto::CrcEngine> known;
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        known = crc_tables(cell.links[i].alone, known);
        links.push_back(std::make_unique<JudgedLink>(cell, i, seed_of_link(seed, i), faults, known));
        cells.push_back(&links.back()->cell);
    }
    joined = std::make_unique<JoinedLinks<Heard<Observer>>>(cell, std::move(cells));
}

}  // namespace sim
