#pragma once
// The shortest watchdogs with which a link can run: nothing is lost, each telegram is as fast as the fastest of its
// channel, and the scans fall as the scenario places them. Followed exchange by exchange, not
// estimated, until the scans fall as before; where they do not within 20 000, the least and the most that one can take.
#include "proto/time.hpp"

namespace sim {

struct Scenario;

/// Of one end. A watchdog under `once` never lets the link run; one from there on but under `always` lets it start, and
/// stops it again where the scans fall otherwise; from `always` on it stops for nothing only if something is late or
/// lost. Both are the same where one scan is a whole multiple of the other.
struct LeastWatchdog {
    proto::Duration once{};
    proto::Duration always{};
};

struct LeastWatchdogs {
    LeastWatchdog controller, device;
};

/// By the scans of both ends, the controller's cycle as typed there. A stream needs a whole exchange for its start
/// and no more than the next telegram from then on.
LeastWatchdogs least_watchdogs(const Scenario& scenario);

}  // namespace sim
