#pragma once
// Quantities of values while they are read: of any kind of unit for a scale, and of that kind from then on.
#include <cstdint>
#include <string>

#include "proto/result.hpp"
#include "sim/reading/document.hpp"
#include "sim/scenario/values.hpp"

namespace sim {

struct Scale {
    std::int64_t one = 1;  ///< one count is so much, in the smallest unit; above 0
    ValueUnit unit = ValueUnit::none;
};

/// "0.1 mm/s", 0.1 or 5; or what is wrong with it.
proto::Result<Scale, std::string> scale_in(const Node& node);

/// A quantity of that kind, perhaps below 0, or what is wrong with it.
proto::Result<std::int64_t, std::string> quantity_of(const Node& node, ValueUnit unit);

}  // namespace sim
