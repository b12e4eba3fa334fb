#include "sim/drive/by_hand.hpp"

#include <algorithm>
#include <utility>

namespace sim {

std::optional<End> end_of(Part part) {
    if (part == Part::channel) return std::nullopt;
    return part == Part::controller ? End::controller : End::device;
}

std::size_t restarts_in(const Scenario& scenario, const std::vector<Absence>& absences) {
    const auto within = [&](const Absence& absence) { return absence.from < Instant{} + scenario.duration; };
    return static_cast<std::size_t>(std::count_if(absences.begin(), absences.end(), within));
}

Scenario with_restarts(Scenario scenario, End end, const std::vector<Absence>& absences) {
    const std::size_t restarts = restarts_in(scenario, absences);
    for (std::size_t i = 0; i < restarts; ++i) {
        Fault fault;
        fault.error = error_of(FaultWay::restart);
        fault.way = FaultWay::restart;
        fault.by_hand = true;
        fault.at_end = end;
        fault.at = absences[i].from - Instant{};
        fault.lasting = absences[i].until - absences[i].from;
        scenario.faults.push_back(std::move(fault));
    }
    return scenario;
}

Scenario with_restarts(const Scenario& scenario, const PartRecords& parts) {
    Scenario with =
        with_restarts(scenario, End::controller, parts[static_cast<std::size_t>(Part::controller)].absences);
    return with_restarts(std::move(with), End::device, parts[static_cast<std::size_t>(Part::device)].absences);
}

}  // namespace sim
