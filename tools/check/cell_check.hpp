#pragma once
// linkdrill check on a file with several links.
#include "tools/program/command.hpp"
#include "tools/program/given_file.hpp"

namespace tools {

proto::Result<Finished, Failure> check_cell(const GivenFile& file, Columns columns);

}  // namespace tools
