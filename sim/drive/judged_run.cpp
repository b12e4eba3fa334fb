#include "sim/drive/judged_run.hpp"

#include "sim/cell/joined_links_body.hpp"

namespace sim {

template class Cell<Heard<Observer>>;
template class JoinedLinks<Heard<Observer>>;

JudgedRun::JudgedRun(const Scenario& scenario, std::uint64_t seed, Faults faults, const Limits& limits)
    : observer(scenario, limits), cell(scenario, seed, faults, {{observer}}) {}

void JudgedRun::begin_again(std::uint64_t seed, Faults faults, const Limits& limits) {
    observer.begin_again(limits);
    cell.begin_again(seed, faults);
}

void JudgedRun::finish(RunResult& result, Instant now) { cell.finish(result, observer, now); }

}  // namespace sim
