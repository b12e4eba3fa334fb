#include "sim/studies/link_limits.hpp"

#include <algorithm>
#include <optional>
#include <string>

#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/timing/bounds.hpp"
#include "sim/timing/function_time.hpp"

namespace sim {
namespace {

/// True if a safeguard is read at the machine's own end, so that its demand goes to the other end and back this way.
bool goes_over_other_end(const Scenario& s, Direction direction) {
    return s.machine && s.machine->at == receiver(direction) &&
           std::any_of(s.safeguards.begin(), s.safeguards.end(),
                       [&](const Safeguard& safeguard) { return safeguard.at == receiver(direction); });
}

/// What the tightest function leaves for the way to the machine.
std::optional<LeftForLink> left_by_functions(const Scenario& s, Direction direction) {
    if (!s.machine || s.machine->at != receiver(direction)) return std::nullopt;
    return least_left_for_link(function_times(s));
}

void add_bound(const Scenario& s, Direction direction, CrossCheck& result) {
    const std::string way = "to " + s.end(receiver(direction)).name;
    const bool used = std::any_of(s.signals.begin(), s.signals.end(),
                                  [&](const Signal& signal) { return signal.received_at(receiver(direction)); });
    if (!used) return;
    const std::optional<Duration>& required =
        direction == Direction::to_device ? s.required.to_device : s.required.to_controller;
    const std::optional<Duration> bound =
        goes_over_other_end(s, direction) ? over_other_end_bound_of(s, direction) : bound_of(s, direction);
    const std::optional<LeftForLink> left = left_by_functions(s, direction);
    if (!required && bound && left) {
        result.cautions.push_back("nothing in [required] says how old a value " + way +
                                  " may become; of the functions \"" + s.functions[left->function].name +
                                  "\" leaves the least for it, " + written(left->time) + ", and it takes up to " +
                                  written(*bound));
    } else if (!required) {
        result.cautions.push_back(
            "nothing says how old a value " + way + " may become; " +
            (bound ? "judged by the bound of the settings, " + written(*bound) + ", which a mistyped watchdog lengthens"
                   : std::string("and without a measured age there is no bound either")) +
            "; write required." + (direction == Direction::to_device ? "to_device" : "to_controller"));
    } else if (!bound) {
        result.cautions.push_back("no bound exists for values " + way +
                                  ": nothing in this link measures their age, so "
                                  "only the network's own promise keeps them within the " +
                                  written(*required) + " required");
    } else if (*bound > *required) {
        result.problems.push_back("what goes " + way + " may take " + written(*bound) + " to its output, but " +
                                  written(*required) + " is required; write a shorter watchdog");
    }
}

}  // namespace

void add_link_limits(const Scenario& scenario, CrossCheck& result) {
    const proto::LinkSettings& link = scenario.controller.link;
    const bool sees_age = link.max_lag || link.profile.time_stamp_bits != 0;
    if (link.exchange == proto::Exchange::streaming && !sees_age && scenario.declared_delay)
        result.cautions.push_back(
            "a delay that creeps is seen by nothing in this stream, and its bounds hold only while "
            "no telegram takes longer than the declared " +
            written(*scenario.declared_delay) + ": a fed-back number with max_lag, or a time stamp, would see it");
    add_bound(scenario, Direction::to_device, result);
    add_bound(scenario, Direction::to_controller, result);
}

}  // namespace sim
