// Any text as a scenario beside the shipped ones: refused in one line, or cross-checked, with limits, and rehearsed if
// it is short. What a rehearsal says does not depend on who listens.
#include "sim/drive/limits.hpp"
#include "sim/drive/rehearsal.hpp"
#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/studies/cross_check.hpp"
#include "tests/fuzz/fuzz.hpp"

namespace {

/// Whole rehearsals take milliseconds each: only those of so many scans, and of few links and guards.
bool is_short(const sim::Scenario& scenario) {
    constexpr std::int64_t scans_most = 120;
    const auto fastest =
        std::min({scenario.controller.link.cycle, scenario.controller.link.scan, scenario.device.link.scan});
    return scenario.duration.ns / std::max<std::int64_t>(fastest.ns, 1) <= scans_most;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static const std::string path = fuzz::source("scenarios/veneer_press/any.toml");
    const std::string text = fuzz::text_of(data, size);
    const auto scenario = sim::scenario_in(text, path);
    if (!scenario) {
        fuzz::expect_one_line(scenario.error().one_line());
        return 0;
    }
    const sim::CrossCheck checked = sim::cross_check(scenario.value());
    if (checked.ok() && !checked.signature) fuzz::broken("ends that agree have no signature");
    const sim::ScenarioLimits limits = sim::limits_of(scenario.value());
    if (limits.bound && *limits.bound < proto::Duration{}) fuzz::broken("a bound below 0");
    if (!is_short(scenario.value())) return 0;
    const std::uint64_t seed = scenario.value().seed;
    sim::TimeLine line(scenario.value());
    const sim::RunResult watched = sim::rehearse(scenario.value(), seed, {nullptr, &line});
    if (watched.digest != sim::rehearse(scenario.value(), seed).digest)
        fuzz::broken("a rehearsal that is watched is another");
    return 0;
}
