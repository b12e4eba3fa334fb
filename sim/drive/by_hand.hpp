#pragma once
// What somebody did to a live run by hand: an end whose program was ended and started anew was without power.
#include <optional>

#include "sim/drive/join.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

/// How many of the absences are faults of the run: who went after its end took part in all of it.
std::size_t restarts_in(const Scenario& scenario, const std::vector<Absence>& absences);

/// The scenario with one fault more for each of those, in order: a restart of that end, from its last sign of life on,
/// with no expectation but that nothing becomes dangerous. To be used for a part of a live run only.
Scenario with_restarts(Scenario scenario, End end, const std::vector<Absence>& absences);

/// The scenario as the three parts ran it: the controller's restarts by hand, then the device's, after its own faults.
Scenario with_restarts(const Scenario& scenario, const PartRecords& parts);

/// The end that a part is; nothing for the channel.
std::optional<End> end_of(Part part);
constexpr Part part_of(End end) { return end == End::controller ? Part::controller : Part::device; }

}  // namespace sim
