#include "sim/judge/run_result.hpp"

namespace sim {

RunResult result_of(const Scenario& scenario, std::uint64_t seed) {
    RunResult result;
    result.scenario_title = scenario.title;
    result.scenario_file = scenario.file;
    result.plant = scenario.plant;
    result.seed = seed;
    return result;
}

void finish(RunResult& result, Observer& observer, const RunEnd& end) {
    observer.finish(result, end.at);
    result.cycles = end.cycles;
    result.controller = end.controller;
    result.device = end.device;
}

}  // namespace sim
