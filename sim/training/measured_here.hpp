#pragma once
// What the ends of a link can measure, by its exchange and profile: nothing else stands on a panel.
#include <string_view>

#include "sim/scenario/whole_cell.hpp"

namespace sim {

/// An end knows how old on its one way is what comes only by the stamp of the sender's clock.
inline bool ages_are_measured(const Scenario& scenario) {
    const proto::Profile& profile = scenario.controller.link.profile;
    return profile.time_stamp_bits > 0 && profile.time_stamp_kind == proto::StampKind::clock;
}
/// A controller that asks and is answered under the same number knows how long that took.
inline bool round_trips_are_measured(const Scenario& scenario) {
    return scenario.controller.link.exchange == proto::Exchange::polled;
}
/// Why that reading cannot be taken at this plant; empty if it can.
inline std::string_view why_not_measured(const Scenario& scenario, std::string_view reading) {
    if (reading == "ages" && !ages_are_measured(scenario)) return "no telegram carries the clock of its sender";
    if (reading == "round-trips" && !round_trips_are_measured(scenario)) return "no telegram is an answer to another";
    if (reading == "neighbour" && !scenario.neighbour) return "there is no neighbour";
    return {};
}
/// The same of several links: what every one of them lets be read. No drill with several links has a neighbour.
inline std::string_view why_not_measured(const WholeCell& cell, std::string_view reading) {
    for (const CellLink& link : cell.links)
        if (const std::string_view why = why_not_measured(link.alone, reading); !why.empty()) return why;
    return {};
}

}  // namespace sim
