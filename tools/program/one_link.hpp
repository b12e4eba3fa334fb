#pragma once
// One link of a file, for commands that are about one: the only one there is, or the one that --link names.
#include <string>

#include "proto/result.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "tools/program/arguments.hpp"
#include "tools/program/failure.hpp"
#include "tools/program/given_file.hpp"

namespace tools {

OptionSpec link_option();

/// Its place among the links of that cell, or what is wrong with the name.
proto::Result<std::size_t, Failure> chosen_link(const sim::WholeCell& cell, const std::string& name);

/// The link as if it stood alone, with that machine of the cell of which the tightest function crosses it.
proto::Result<sim::Scenario, Failure> one_link(const GivenFile& given, const Arguments& arguments);

}  // namespace tools
