#pragma once
#include "sim/judge/result.hpp"
#include "tools/text/value.hpp"

namespace sim {
struct Scenario;
}

namespace tools {

/// One element for a demand and each reaction that a function asks of it; one with `function` null where none does.
Value::List describe_demands(const sim::Scenario& scenario, const sim::RunResult& result);

/// The functions of the scenario; where it states none, one element a guard with `stated` false.
Value::List describe_functions(const sim::Scenario& scenario, const sim::RunResult& result);

/// The demands for a spreadsheet: a row for each hop of the elements of describe_demands(), and what is in each row.
struct DemandTable {
    Value::List rows;
    Value pattern;
};
DemandTable demand_table(const Value::List& demands);

}  // namespace tools
