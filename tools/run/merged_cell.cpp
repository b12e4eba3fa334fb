#include "tools/run/merged_cell.hpp"

#include <algorithm>
#include <utility>

namespace tools {
namespace {

/// Where a link's function stands in the cell.
std::size_t place_of(const sim::WholeCell& cell, const sim::SafetyFunction& share) {
    const auto found = std::find_if(cell.functions.begin(), cell.functions.end(),
                                    [&](const sim::SafetyFunction& one) { return one.name == share.name; });
    return static_cast<std::size_t>(found - cell.functions.begin());
}

std::size_t place_of(const sim::SafetyFunction& function, const sim::MustReact& share) {
    const auto found = std::find_if(function.must.begin(), function.must.end(),
                                    [&](const sim::MustReact& one) { return one.machine == share.machine; });
    return static_cast<std::size_t>(found - function.must.begin());
}

void add_demand(const sim::WholeCell& cell, const sim::CellResult& from, const sim::CellDemand& row,
                sim::RunResult& to) {
    const sim::RunResult& link = from.links[row.machine_link];
    const sim::Scenario& alone = cell.links[row.machine_link].alone;
    sim::DemandResult demand = link.demands[row.result];
    demand.machine = alone.machine ? alone.machine->name : "";
    demand.hops.clear();
    for (const sim::CellDemand::Hop& hop : row.hops) {
        demand.hops.push_back(hop.hop);
        demand.hops.back().link = cell.links[hop.link].name;
    }
    for (sim::FunctionRow judged : link.function_rows) {
        if (judged.result != row.result) continue;
        const sim::SafetyFunction& share = alone.functions[judged.function];
        const std::size_t function = place_of(cell, share);
        judged.result = to.demands.size();
        judged.must = place_of(cell.functions[function], share.must[judged.must]);
        judged.function = function;
        to.function_rows.push_back(std::move(judged));
    }
    to.demands.push_back(std::move(demand));
}

}  // namespace

MergedCell merged(const sim::WholeCell& cell, const sim::CellResult& result) {
    MergedCell all;
    all.scenario = cell.of_file();
    all.scenario.functions = cell.functions;
    for (sim::Signal& signal : all.scenario.signals) signal.elsewhere = false;
    // whatever tells of a machine takes its name from the demand
    for (const sim::CellLink& link : cell.links)
        if (link.alone.machine && !all.scenario.machine) all.scenario.machine = link.alone.machine;
    all.result.scenario_title = cell.title;
    all.result.scenario_file = cell.file;
    all.result.plant = cell.plant;
    all.result.seed = result.seed;
    all.result.verdict = result.verdict;
    all.result.link_started = true;
    for (const sim::CellDemand& row : result.demands) add_demand(cell, result, row, all.result);
    for (const sim::CellFunction& found : result.functions)
        all.result.functions.push_back(
            {found.function, found.met, found.worst, found.within, found.never_demanded, found.why});
    return all;
}

}  // namespace tools
