#pragma once
// Where values lie in the payload, as typed at each end.
#include <optional>
#include <vector>

#include "sim/reading/section.hpp"
#include "sim/reading/value_quantities.hpp"
#include "sim/scenario/values.hpp"

namespace sim {

struct Scenario;

/// The key `order`.
std::optional<ValueOrder> read_order(Section& section);
/// The largest that a value of that type may have: whatever is read is reckoned with in 64 bits, with room to spare.
std::int64_t scale_most(ValueType type);
/// The key `scale`; says so if a count of that type could become too large.
std::optional<Scale> read_scale(Section& section, ValueType type);

/// [values], [controller.values], [device.values]: on top of `shared`, as the values themselves have it, one for each.
/// Only places of those that are `sound` are compared. What they take is in use, as the bits of signals are.
void read_value_places(Section& top, Scenario& scenario, const std::vector<TypedValue>& shared,
                       const std::vector<bool>& sound);

}  // namespace sim
