#pragma once
#include <string>

#include "tools/text/value.hpp"

namespace tools {

/// A described rehearsal as JUnit XML: one test case for each injection, one for each safety function that is stated,
/// skipped where the run did not show it, and one each for the fault-free twin, the response bound and the recovery.
/// Times are those of the rehearsal, in seconds: from the injection or the demand until the stop.
std::string to_junit(const Value& run);

/// Text for XML 1.0 with markup escaped; characters that XML cannot hold, and bytes that are no UTF-8, become U+FFFD.
std::string xml_text(std::string_view text);

}  // namespace tools
