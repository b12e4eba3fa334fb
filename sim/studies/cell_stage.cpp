#include "sim/studies/cell_stage.hpp"

#include <algorithm>

#include "sim/drive/joined_run.hpp"
#include "sim/plant/machine.hpp"
#include "sim/studies/acceptance_stage.hpp"
#include "sim/timing/way_of_demand.hpp"

namespace sim {
namespace {

std::vector<TimeLine> empty_lines(const WholeCell& cell, std::vector<Witnesses>& witnesses) {
    std::vector<TimeLine> lines;
    lines.reserve(cell.links.size());
    for (const CellLink& link : cell.links) {
        lines.emplace_back(link.alone);
        witnesses.push_back({nullptr, &lines.back()});
    }
    return lines;
}

/// Of one link, until it runs.
Duration comes_up(const WholeCell& cell) {
    Duration longest{};
    for (const CellLink& link : cell.links) longest = std::max(longest, settled(link.alone));
    return longest;
}

/// By the figures, whatever is asked of a machine.
Duration slowest_stop(const WholeCell& cell) {
    Duration slowest{};
    for (const CellLink& link : cell.links) {
        const std::optional<Machine>& machine = link.alone.machine;
        if (machine && machine->braking_um_s2 > 0)
            slowest = std::max(slowest, MachineModel::stopping_time(*machine, StopCategory::category_0));
        if (machine && machine->ramp_um_s2 > 0)
            slowest = std::max(slowest, MachineModel::stopping_time(*machine, StopCategory::category_1));
    }
    return slowest;
}

}  // namespace

WholeCell staged_standing(const WholeCell& plant, Duration duration) {
    WholeCell cell = plant;
    cell.duration = duration;
    for (CellLink& link : cell.links) link.alone = staged(link.alone, duration);
    return cell;
}

WholeCell staged_running(const WholeCell& plant, Duration duration) {
    WholeCell cell = staged_standing(plant, duration);
    for (CellLink& link : cell.links)
        if (link.alone.machine) operate(link.alone, OperatorAct::Act::start_machine, comes_up(plant));
    return cell;
}

void demand_at(WholeCell& cell, const std::string& safeguard, Duration at, Duration lasting) {
    bool judged = false;
    for (CellLink& link : cell.links) {
        demand_at(link.alone, safeguard, at, lasting);
        const bool here = link.alone.machine && !longest_way(link.alone, safeguard).empty();
        link.alone.demands.back().elsewhere = !here;
        judged = judged || here;
    }
    if (!judged) cell.links.front().alone.demands.back().elsewhere = false;
}

Duration settled(const WholeCell& cell) { return comes_up(cell) + slowest_stop(cell) + proto::seconds(1); }

Duration patience(const WholeCell& cell) {
    Duration sum = slowest_stop(cell);
    for (const CellLink& link : cell.links)
        sum = sum + std::max(link.alone.controller.link.watchdog, link.alone.device.link.watchdog);
    return sum * 4 + proto::seconds(1);
}

Duration period(const WholeCell& cell) {
    Duration longest{};
    for (const CellLink& link : cell.links)
        longest = std::max({longest, link.alone.controller.link.cycle, link.alone.device.link.scan});
    return longest * 3;
}

std::vector<TimeLine> drawn(const WholeCell& cell, std::uint64_t seed) {
    std::vector<Witnesses> witnesses;
    std::vector<TimeLine> lines = empty_lines(cell, witnesses);
    const JoinedRun run(cell, seed, Faults::all, witnesses);
    const Instant end = Instant{} + cell.duration;
    run.joined->run_until(end);
    for (TimeLine& line : lines) line.finish(end);
    return lines;
}

CellResult rehearsed(const WholeCell& cell, std::uint64_t seed, std::vector<TimeLine>& lines) {
    std::vector<Witnesses> witnesses;
    lines = empty_lines(cell, witnesses);
    return rehearse_cell(cell, seed, witnesses);
}

Hangs hangs_on(const WholeCell& cell, std::size_t machine_link, std::size_t link) {
    if (machine_link == link) return Hangs::always;
    const JoinedRun joined(cell, cell.seed, Faults::none, {});
    const auto& wiring = joined.joined->wiring();
    if ((wiring.hangs_on[machine_link] >> link & 1U) == 0) return Hangs::never;
    return (wiring.fails_with[machine_link] >> link & 1U) != 0 ? Hangs::always : Hangs::sometimes;
}

bool all_run_from_to(const std::vector<TimeLine>& lines, Instant from, Instant to) {
    return std::all_of(lines.begin(), lines.end(), [&](const TimeLine& line) { return runs_from_to(line, from, to); });
}

}  // namespace sim
