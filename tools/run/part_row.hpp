#pragma once
// An event of a part's log as a row of numbers, and back: what a part file holds of it.
#include <cstdint>
#include <optional>

#include "sim/judge/event_log.hpp"

namespace tools {

struct Row {
    unsigned kind = 0;   ///< its place in the list of part_row.cpp
    unsigned place = 0;  ///< sim::Direction or sim::End
    std::int64_t at = 0;
    std::uint64_t a = 0, b = 0, c = 0;
};

Row row_of(const sim::Event& event);
/// Nothing for a row that no event gives.
std::optional<sim::Event> event_of(const Row& row);

}  // namespace tools
