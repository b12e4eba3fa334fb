#include <algorithm>
#include <cmath>
#include <optional>
#include <string>

#include "sim/scenario/units.hpp"
#include "sim/timing/response.hpp"
#include "tools/run/describe_live.hpp"
#include "tools/run/describe_values.hpp"
#include "tools/run/run_page_parts.hpp"
#include "tools/text/distance_words.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using proto::Duration;

std::string percent(Duration part, Duration whole) {
    if (whole.ns <= 0) return "";
    const double share = static_cast<double>(part.ns) / static_cast<double>(whole.ns) * 100.0;
    if (share > 9999.0 || share < 0.0) return "";
    return " (" + std::to_string(std::lround(share)) + " %)";
}

std::string whole_mm_up(std::int64_t um) { return std::to_string((um + 999) / 1000) + " mm"; }

void stopping_on(Page& page, const sim::Scenario& scenario, const sim::RunResult& result) {
    if (!result.stopping) return;
    std::string stopping = in_ms(*result.stopping, Rounding::up);
    if (result.stopping_um) stopping += " and " + whole_mm_up(*result.stopping_um);
    const std::string machine = safe_name(scenario.machine ? scenario.machine->name : "", "machine");
    page.paragraph("Stopping   ", stopping + " from the output command until the " + machine + " " +
                                      std::string(with_name(machine, "stands", "stand")) + ".");
    // of those that ended in standstill; what nothing obeys stops for some other reason
    std::optional<std::int64_t> farthest;
    for (const sim::DemandResult& demand : result.demands)
        if (demand.reaches_output && demand.standstill) farthest = std::max(farthest, demand.travelled_um);
    if (farthest) page.paragraph("Travelled  ", whole_mm_up(*farthest) + " at most from a demand until it stood.");
}

}  // namespace

void figures_on(Page& page, const sim::Scenario& scenario, const sim::RunResult& result) {
    std::string response;
    const auto add = [&](const std::string& text) { response += (response.empty() ? "" : ", ") + text; };
    add(result.bound ? "bound " + in_ms(*result.bound, Rounding::down) : std::string("no bound can be computed"));
    if (result.worst_seen)
        add("worst seen " + in_ms(*result.worst_seen, Rounding::up) +
            (result.bound ? percent(*result.worst_seen, *result.bound) : ""));
    if (result.required) add("required " + in_ms(*result.required, Rounding::down));
    page.blank();
    page.paragraph("Response   ", "sampling to output command: " + response + ".");
    values_on(page, scenario, result);
    stopping_on(page, scenario, result);
    // A slowed run has other times than the plant.
    if (scenario.distance && result.time_scale == 1) {
        const auto distance = sim::distance_of(scenario, sim::response_of(scenario));
        page.paragraph("Distance   ", distance ? distance_line(scenario, *distance) + "."
                                               : std::string("no overall time can be reckoned: linkdrill response."));
    }
    if (result.live) {
        page.paragraph("Lateness   ", lateness_in_words(result.lateness, result.lateness_allowed));
        page.paragraph("Network    ", network_in_words(scenario, result.network));
    }
    page.paragraph("No fault   ", "same scenario, faults off: " + counted(result.twin.cycles, "cycle", "cycles") +
                                      ", " + counted(result.twin.spurious_trips, "stop", "stops") + " for nothing.");
    std::string recovery = counted(result.stops, "stop", "stops") + ", " +
                           counted(result.acknowledgements, "acknowledgement", "acknowledgements") + " that counted";
    recovery += result.twin.recovered ? "; the link came back only when acknowledged, the machine only when started."
                                      : "; NOT AS IT SHOULD: " + result.twin.why_not + ".";
    if (result.stops == 0 && result.twin.recovered) recovery = "no stop, so there was nothing to recover from.";
    page.paragraph("Recovery   ", recovery);
}

}  // namespace tools
