#pragma once
#include <optional>
#include <string>

#include "tools/program/failure.hpp"

namespace tools {

/// The computer's error about what was to be written at `path`, with the mend.
Failure not_written(const std::string& path, int error);

/// Copies a file to `to`, which must not be there yet: nothing is ever written over. The copy can be written whatever
/// the original is like. A failure leaves nothing.
std::optional<Failure> copy_file_anew(const std::string& from, const std::string& to);

}  // namespace tools
