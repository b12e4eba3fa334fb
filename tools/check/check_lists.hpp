#pragma once
// linkdrill check with two lists of settings, one exported from the tool of each end.
#include <optional>
#include <vector>

#include "sim/reading/listed_scenario.hpp"
#include "tools/program/command.hpp"

namespace tools {

/// Options of check for them.
std::vector<OptionSpec> list_options();

/// The lists that were named; nothing if none were. Or what is wrong with how they were named.
struct NamedLists {
    sim::ListFiles files;
    std::string map;  ///< empty: none
};
proto::Result<std::optional<NamedLists>, Failure> named_lists(const Arguments& arguments);

void list_findings_on(Page& page, const std::vector<sim::ListFinding>& findings);
Value::List describe_list_findings(const std::vector<sim::ListFinding>& findings);

}  // namespace tools
