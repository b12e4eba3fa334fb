#pragma once
// A whole cell as the rehearsals of its acceptance test let it run: its faults off, its machines started together.
#include <cstdint>
#include <string>
#include <vector>

#include "sim/drive/cell_rehearsal.hpp"
#include "sim/judge/time_line.hpp"
#include "sim/scenario/whole_cell.hpp"

namespace sim {

/// Faults, demands and what the operator does are taken away; nothing moves. The run ends at `duration`.
WholeCell staged_standing(const WholeCell& plant, Duration duration);
/// The same with every machine started, well before settled().
WholeCell staged_running(const WholeCell& plant, Duration duration);
void demand_at(WholeCell& cell, const std::string& safeguard, Duration at, Duration lasting);

/// Time enough for every link to run, and for the machines to be at speed.
Duration settled(const WholeCell& cell);
/// Long enough for any signal to come through all links.
Duration patience(const WholeCell& cell);
/// A few exchanges of the slowest link: acts are placed over it.
Duration period(const WholeCell& cell);

/// By link.
std::vector<TimeLine> drawn(const WholeCell& cell, std::uint64_t seed);
/// The same of a rehearsal that is judged.
CellResult rehearsed(const WholeCell& cell, std::uint64_t seed, std::vector<TimeLine>& lines);
/// Whether a machine stops when that link fails, by the wiring: never, by that alone whatever the mode, or not always.
enum class Hangs : std::uint8_t { never, always, sometimes };
Hangs hangs_on(const WholeCell& cell, std::size_t machine_link, std::size_t link);

/// Both ends of every link, all the time.
bool all_run_from_to(const std::vector<TimeLine>& lines, Instant from, Instant to);

}  // namespace sim
