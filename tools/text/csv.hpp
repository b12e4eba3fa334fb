#pragma once
#include <string>

#include "tools/text/value.hpp"

namespace tools {

/// A list of objects as comma-separated values by RFC 4180 (CRLF, quotes doubled), one row each under a row of names.
/// Nested objects become columns of their own ("safe_state controller (ms)"), lists are joined by blanks.
/// The columns are those of `pattern`. Text that a spreadsheet would take for a formula gets an apostrophe in front.
std::string to_csv(const Value::List& rows, const Value& pattern);

}  // namespace tools
