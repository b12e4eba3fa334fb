#pragma once
// A cell with an observer that judges it: what trials, studies and simulated years move.
#include <cstdint>

#include "sim/cell/cell.hpp"
#include "sim/judge/observer.hpp"

namespace sim {

using JudgedCell = Cell<Heard<Observer>>;
extern template class Cell<Heard<Observer>>;

struct JudgedRun {
    Observer observer;
    JudgedCell cell;

    /// Requires a scenario that the reader has accepted; it must outlive the run.
    JudgedRun(const Scenario& scenario, std::uint64_t seed, Faults faults, const Limits& limits);
    /// As if made anew, see Cell::begin_again().
    void begin_again(std::uint64_t seed, Faults faults, const Limits& limits);
    /// Adds what was seen so far to `result`; the cell may not run on afterwards.
    void finish(RunResult& result, Instant now);
};

}  // namespace sim
