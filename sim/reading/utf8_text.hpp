#pragma once
#include <optional>
#include <string>
#include <string_view>

#include "sim/reading/read.hpp"

namespace sim {

/// The first byte of a text that is not UTF-8 (RFC 3629), with its line; `path` is where the text comes from.
std::optional<FileError> not_utf8(const std::string& path, std::string_view text);

}  // namespace sim
