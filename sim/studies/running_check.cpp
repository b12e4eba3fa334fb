#include "sim/studies/running_check.hpp"

#include <algorithm>

#include "sim/drive/ever_runs.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/studies/cross_check.hpp"
#include "sim/studies/function_check_parts.hpp"
#include "sim/studies/link_limits.hpp"
#include "sim/timing/bounds.hpp"
#include "sim/timing/least_watchdog.hpp"

namespace sim {
namespace {

using proto::LinkSettings;

/// Up to the whole microseconds in which the ends agree on it.
Duration whole_us(Duration time) {
    constexpr std::int64_t us = 1'000;
    return {(time.ns + us - 1) / us * us};
}

/// "60 ms or more", "60.5 ms or more if the scans fall well, 70 ms wherever they fall".
std::string long_enough(const LeastWatchdog& least) {
    const std::string always = written(whole_us(least.always)) + " or more";
    if (least.once == least.always) return always;
    return always + "; under that, and from " + written(whole_us(least.once)) +
           " on, it starts and is stopped again where the scans fall otherwise";
}

/// "with a cycle of 12 ms, a scan of 10 ms at press I/O, nothing lost and no telegram slower than the fastest".
std::string circumstances(const Scenario& s) {
    const LinkSettings& c = s.controller.link;
    const LinkSettings& d = s.device.link;
    std::string words = "with a cycle of " + written(c.cycle);
    if (d.scan != c.cycle || s.device_phase != Duration{})
        words += ", a scan of " + written(d.scan) + " at " + s.device.name;
    if (s.device_phase != Duration{}) words += " that is " + written(s.device_phase) + " later";
    const Duration fastest = shortest_of(s.to_device.delay) + shortest_of(s.to_controller.delay);
    return words + ", nothing lost and " +
           (fastest == Duration{} ? std::string("no time on the way")
                                  : "no more than " + written(fastest) + " on the way out and back");
}

/// True if the link cannot run. Of ends that do not agree on how they exchange nothing is said.
bool add_too_short(const Scenario& s, std::vector<std::string>& problems) {
    if (s.controller.link.exchange != s.device.link.exchange || s.controller.link.cycle != s.device.link.cycle)
        return false;
    const LeastWatchdogs least = least_watchdogs(s);
    const bool polled = s.controller.link.exchange == proto::Exchange::polled;
    const std::string takes =
        polled ? "what one exchange takes" : "what a start takes, or the time to the next telegram";
    const auto too_short = [](const TypedEnd& end, const LeastWatchdog& at) { return end.link.watchdog < at.once; };
    const bool at_controller = too_short(s.controller, least.controller), at_device = too_short(s.device, least.device);
    const auto add = [&](const std::string& whose, Duration watchdog, const LeastWatchdog& at) {
        problems.push_back("the link can never run: the watchdog" + whose + ", " + written(watchdog) +
                           ", is shorter than " + takes + ", " + written(at.once) + " " + circumstances(s) +
                           "; write " + long_enough(at));
    };
    if (at_controller && at_device && s.controller.link.watchdog == s.device.link.watchdog) {
        const bool device_longer = least.device.always > least.controller.always;
        add("", s.device.link.watchdog, device_longer ? least.device : least.controller);
        return true;
    }
    if (at_controller) add(" of " + s.controller.name, s.controller.link.watchdog, least.controller);
    if (at_device) add(" of " + s.device.name, s.device.link.watchdog, least.device);
    return at_controller || at_device;
}

/// Which round trips run, polled; nothing said of a stream, which makes none.
std::string round_trips(const Scenario& s, bool& too_long) {
    const LinkSettings& c = s.controller.link;
    too_long = false;
    if (c.exchange != proto::Exchange::polled) return "";
    const Duration watchdog = std::min(c.watchdog, s.device.link.watchdog);
    const Duration runs = longest_round_trip(watchdog, c.cycle);
    const Duration longest = longest_of(s.to_device.delay) + longest_of(s.to_controller.delay) + s.device.link.scan;
    const std::string limit = "a round trip of up to " + written(runs) + " runs wherever the scans fall (watchdog " +
                              written(watchdog) + " less the cycle of " + written(c.cycle) + ")";
    too_long = longest > runs;
    return limit + (too_long ? ", and" : ";") + " this channel with a device scan takes up to " + written(longest) +
           (too_long ? ": expect stops for nothing" : "");
}

}  // namespace

void add_running(const Scenario& scenario, CrossCheck& result) {
    bool too_long = false;
    if (add_too_short(scenario, result.problems)) return;
    if (std::string trips = round_trips(scenario, too_long); !trips.empty())
        result.cautions.push_back(std::move(trips));
    // of ends that differ, or are kept apart, it is told already
    if (!result.ok() || proto::fault_in(scenario.controller.link) || proto::fault_in(scenario.device.link)) return;
    if (const std::optional<Duration> watched = never_ran_within(scenario))
        result.problems.push_back(
            "the link never ran in " + written(*watched) +
            " without any fault, with this channel; write longer watchdogs and ages, or a channel "
            "as it was measured");
}

std::vector<std::string> objections_to_times(const Scenario& scenario) {
    std::vector<std::string> all;
    if (!add_too_short(scenario, all)) {
        bool too_long = false;
        std::string trips = round_trips(scenario, too_long);
        if (too_long) all.push_back(std::move(trips));
    }
    CrossCheck limits;
    add_link_limits(scenario, limits);
    FunctionCheck times;
    add_times(scenario, times);
    all.insert(all.end(), limits.problems.begin(), limits.problems.end());
    all.insert(all.end(), times.problems.begin(), times.problems.end());
    return all;
}

}  // namespace sim
