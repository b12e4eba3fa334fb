#pragma once
// What the program is doing, for --verbose (standard error) and --log FILE. Nothing without them.
#include <optional>
#include <string>
#include <string_view>

#include "tools/program/failure.hpp"

namespace tools {

struct LogSettings {
    bool on_standard_error = false;
    std::optional<std::string> file;
};

/// Returns why the log file cannot be used, if it cannot.
std::optional<Failure> start_log(const LogSettings& settings);
/// One line; control characters in it are replaced.
void log_line(std::string_view text);
/// Writes out what is left. Returns why the log is not whole, if it is not.
std::optional<Failure> end_log();

}  // namespace tools
