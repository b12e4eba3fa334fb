#pragma once
// What drills show when the trainee comes to them, beside what they promise.
#include <string>

#include "proto/result.hpp"
#include "tools/program/command.hpp"

namespace tools {

/// One drill, with the action cards and plants of its folder.
proto::Result<Finished, Failure> check_drill(const std::string& file, Columns columns);
/// All drills of a folder.
proto::Result<Finished, Failure> check_drills(const std::string& folder, Columns columns);

}  // namespace tools
