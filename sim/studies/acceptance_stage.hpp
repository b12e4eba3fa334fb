#pragma once
// What every rehearsal of the acceptance test shares: a plant with its faults off, run as a person would let it run,
// and how its time line is read.
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "sim/judge/time_line.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/studies/acceptance.hpp"

namespace sim {

/// Faults, demands and what the operator does are taken away. The run ends at `duration`.
Scenario staged(const Scenario& plant, Duration duration);

/// The machine with another slope, the steepest with which that stop takes no less than `time` from the output command;
/// as it is where no slope does that. Requires a slope that is not 0.
Machine stopping_in(const Machine& machine, StopCategory stop, Duration time);

/// Somebody starts the machine each time that the link comes to run.
void start_when_running(Scenario& scenario);
void operate(Scenario& scenario, OperatorAct::Act act, Duration at, const std::string& safeguard = {});
void demand_at(Scenario& scenario, const std::string& safeguard, Duration at, Duration lasting,
               DemandChannel channel = DemandChannel::both);
/// Both ways, as long as it says.
void cut_cable(Scenario& scenario, Duration at, Duration lasting);
void power_off(Scenario& scenario, End end, Duration at, Duration lasting);

/// Time enough for the link to run, and for the machine to be at speed.
Duration settled(const Scenario& scenario);
/// The end that commands the machine.
End output_of(const Scenario& scenario);

TimeLine drawn(const Scenario& scenario, std::uint64_t seed);

bool runs_at(const TimeLine& line, End end, Instant when);
/// Both ends, all the time.
bool runs_from_to(const TimeLine& line, Instant from, Instant to);
bool both_run_at_end(const TimeLine& line);
/// In micrometres per second.
std::int64_t speed_at(const TimeLine& line, Instant when);
/// At most, from `from` until just before `to`.
std::int64_t fastest(const TimeLine& line, Instant from, Instant to);
/// The first moment after `since` from which the machine stays at or under that speed until the end.
std::optional<Instant> at_or_under(const TimeLine& line, std::int64_t um_s, Instant since);
/// The signals as they stand just before `when`, one bit each.
std::uint64_t signals_at(const std::vector<TimeLine::SignalChange>& changes, Instant when);

/// One placing more of an act that the machine obeyed: from `since` to what its clock stops at, and until it stands.
void note_stop(ActSeen& seen, const AskedOfMachine& asked, const TimeLine& line, Instant since, Instant ended);

}  // namespace sim
