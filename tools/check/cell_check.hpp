#pragma once
// linkdrill check on a file with several links.
#include "tools/program/command.hpp"
#include "tools/program/given_file.hpp"

namespace tools {

/// `all_settings`: list each that was compared.
proto::Result<Finished, Failure> check_cell(const GivenFile& file, bool all_settings, Columns columns);

}  // namespace tools
