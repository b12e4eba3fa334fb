#pragma once
// linkdrill train --verify: whether the records of a file are as they were kept.
#include <optional>
#include <string>

#include "tools/program/command.hpp"

namespace tools {

/// Looks at the file and writes nothing to it. Not met: something was changed, or no entry has the hash that is
/// `printed`, of which at least 16 digits are needed.
proto::Result<Finished, Failure> verify_records(const std::string& file, const std::optional<std::string>& printed,
                                                Columns columns);

}  // namespace tools
