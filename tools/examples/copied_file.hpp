#pragma once
#include <optional>
#include <string>
#include <string_view>

#include "proto/result.hpp"
#include "tools/program/failure.hpp"

namespace tools {

/// The computer's error about what was to be written at `path`, with the mend.
Failure not_written(const std::string& path, int error);

/// Copies a file to `to`, which must not be there yet: nothing is ever written over. The copy can be written whatever
/// the original is like. A failure leaves nothing.
std::optional<Failure> copy_file_anew(const std::string& from, const std::string& to);

/// The bytes of a file, or why it cannot be read.
proto::Result<std::string, Failure> content_of(const std::string& path);
/// Writes a file that must not be there yet. A failure leaves nothing.
std::optional<Failure> write_anew(std::string_view content, const std::string& to);

}  // namespace tools
