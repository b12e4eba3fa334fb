#include "sim/drive/joined_run.hpp"

#include "sim/cell/joined_links_body.hpp"
#include "sim/cell/wiring.hpp"
#include "sim/drive/cell_gathered.hpp"
#include "sim/drive/cell_rehearsal.hpp"

namespace sim {

template class Cell<LinkHeard>;
template class JoinedLinks<LinkHeard>;

JoinedLink::JoinedLink(const WholeCell& whole, std::size_t link, std::uint64_t seed, Faults faults,
                       const Witnesses& witnesses, const std::optional<proto::CrcEngine>& known)
    : scenario(in_cell(whole, link)),
      limits(limits_in_cell(whole, link)),
      observer(scenario, limits.limits),
      line(nullptr),  // power on is no change that people see
      trace(nullptr),
      trail(scenario, limits.limits.demand_beyond),
      far(scenario),
      cell(scenario, seed, faults, {{observer, line, trace, trail, far}}, known) {
    line = LineIfAny(witnesses.line);
    trace = TraceIfAny(witnesses.trace);
}

JoinedRun::JoinedRun(const WholeCell& cell, std::uint64_t seed, Faults faults,
                     const std::vector<Witnesses>& witnesses) {
    std::vector<Cell<LinkHeard>*> cells;
    std::optional<proto::CrcEngine> known;
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        known = crc_tables(cell.links[i].alone, known);
        links.push_back(std::make_unique<JoinedLink>(cell, i, seed_of_link(seed, i), faults,
                                                     witnesses.empty() ? Witnesses{} : witnesses[i], known));
        cells.push_back(&links.back()->cell);
    }
    joined = std::make_unique<JoinedLinks<LinkHeard>>(cell, std::move(cells));
    std::vector<FarStops*> fars;
    for (const auto& link : links) fars.push_back(&link->far);
    tell_each_other(joined->wiring(), fars);
}

}  // namespace sim
