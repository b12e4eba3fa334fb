#pragma once
// What commands found, in a sentence and a few rows, and how far they are.
#include <optional>
#include <string>

#include "tools/text/value.hpp"

namespace tools {

/// Of the document of "campaign", "endurance" or "residual": a sentence and rows of what and value; null for others.
Value result_in_words(const std::string& what, const Value& document);

/// The share done by a line of progress, 0 to 1: "... 41 % ...", or "120 of 1 000 trials"; nothing if it tells none.
std::optional<double> progress_in(const std::string& line);

}  // namespace tools
