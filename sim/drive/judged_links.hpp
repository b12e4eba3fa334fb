#pragma once
// The links of a cell, each with an observer that judges it and nobody else who hears.
#include <cstdint>
#include <memory>
#include <vector>

#include "sim/cell/cell.hpp"
#include "sim/cell/joined_links.hpp"
#include "sim/drive/judged_run.hpp"
#include "sim/drive/limits.hpp"
#include "sim/judge/observer.hpp"
#include "sim/scenario/whole_cell.hpp"

namespace sim {

extern template class JoinedLinks<Heard<Observer>>;

struct JudgedLink {
    Scenario scenario;  ///< as it is in the cell
    ScenarioLimits limits;
    Observer observer;
    JudgedCell cell;
    JudgedLink(const WholeCell& whole, std::size_t link, std::uint64_t seed, Faults faults,
               const std::optional<proto::CrcEngine>& known);
};

struct JudgedLinks {
    std::vector<std::unique_ptr<JudgedLink>> links;
    std::unique_ptr<JoinedLinks<Heard<Observer>>> joined;
    /// The cell must outlive it.
    JudgedLinks(const WholeCell& cell, std::uint64_t seed, Faults faults);
};

}  // namespace sim
