#pragma once
// Values in the payload, as documents and pages tell them. A document says of them only where a scenario has some.
#include <string>
#include <string_view>

#include "sim/judge/result.hpp"
#include "sim/scenario/scenario.hpp"
#include "tools/text/page.hpp"
#include "tools/text/value.hpp"

namespace tools {

/// "mm/s"; empty for a plain number.
std::string_view unit_in_documents(sim::ValueUnit unit);
/// A quantity in that unit.
double in_documents(std::int64_t quantity, sim::ValueUnit unit);

/// Each value with its place at both ends, range and substitute, for the link sheet.
Value::List describe_value_map(const sim::Scenario& scenario);
/// What a run showed of each value.
Value::List describe_values(const sim::Scenario& scenario, const sim::RunResult& result);
/// The same, one line a value; nothing without any.
void values_on(Page& page, const sim::Scenario& scenario, const sim::RunResult& result);

}  // namespace tools
