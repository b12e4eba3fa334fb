#pragma once
// What a part of a live run tells while it waits for the others: for whom, and what it shows meanwhile.
#include <optional>
#include <string>
#include <vector>

#include "sim/live/live_part.hpp"

namespace sim {

struct MissingPeer {
    std::string name;  ///< of the part; of a cell's device, its station's
    std::string address;
    std::optional<Duration> silent_for;  ///< nothing: never heard
};

/// "waits for the channel at 127.0.0.1:4700, not heard yet". `now`: the run's time, nothing before it began.
std::string waiting_line(const std::vector<MissingPeer>& missing, std::optional<Instant> now);
/// "; safe state, uses 11, sends 0, ...", what an end shows meanwhile; empty for the channel.
std::string shown_in_words(const Scenario& scenario, Part part, const PartShown& shown, std::optional<Instant> now);

}  // namespace sim
