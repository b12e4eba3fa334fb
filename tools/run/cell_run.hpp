#pragma once
// linkdrill run on a file with several links.
#include "tools/program/command.hpp"
#include "tools/program/given_file.hpp"

namespace tools {

/// Rehearses all links at once and keeps the evidence.
proto::Result<Finished, Failure> run_cell(const Request& request, const GivenFile& given);

}  // namespace tools
