#pragma once
// The shipped scenarios to begin with.
#include <string>
#include <vector>

#include "proto/result.hpp"
#include "tools/program/failure.hpp"

namespace tools {

/// The names of the TOML files in a folder, sorted, without their ending.
proto::Result<std::vector<std::string>, Failure> names_in(const std::string& folder);

/// The text of the template of that name, as it stands in any folder; or why it cannot be read.
proto::Result<std::string, Failure> template_text(const std::string& name);

}  // namespace tools
