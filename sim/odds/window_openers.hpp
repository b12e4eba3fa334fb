#pragma once
// What would open a window of usable watchdogs where there is none.
#include <functional>
#include <string>
#include <vector>

#include "sim/odds/window_ends.hpp"

namespace sim {

struct Scenario;

/// What would do it, alone.
struct Opener {
    std::string change;  ///< "cycle", "distance" ...
    std::string value;   ///< "7 ms or less (now 10 ms)"
};

/// `told` hears what is being looked for, for whoever waits.
std::vector<Opener> openers_of(const Scenario& scenario, const WindowEnds& ends, const OddsEffort& effort,
                               const std::function<void(const std::string&)>& told);

/// With that watchdog, and with the guard of the function that decides where there are functions.
Scenario deciding_at(const Scenario& scenario, Duration watchdog);

}  // namespace sim
