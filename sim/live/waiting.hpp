#pragma once
// What a part of a live run tells while it waits for the others: for whom, and what it shows meanwhile.
#include <optional>
#include <string>
#include <vector>

#include "sim/live/live_part.hpp"

namespace sim {

struct MissingPeer {
    Part part = Part::channel;
    std::string address;
    std::optional<Duration> silent_for;  ///< nothing: never heard
};

/// One line. `now`: the run's time, nothing before it began.
std::string waiting_line(const Scenario& scenario, Part part, const std::vector<MissingPeer>& missing,
                         const PartShown& shown, std::optional<Instant> now);

}  // namespace sim
