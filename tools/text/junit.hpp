#pragma once
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "proto/time.hpp"
#include "tools/text/value.hpp"

namespace tools {

struct JUnitCase {
    std::string name;
    std::optional<proto::Duration> time = {};
    std::string failure_type = {};  ///< empty: passed, or skipped
    std::string message = {};
    bool skipped = false;  ///< the message says why
};

struct JUnitSuite {
    std::string name, classname;
    std::vector<std::pair<std::string, std::string>> properties = {};
    std::vector<JUnitCase> cases = {};
};

/// JUnit XML, in the form that its readers agree on. Requires a suite, and a case in each.
std::string junit_of(const std::vector<JUnitSuite>& suites);

/// A described rehearsal as JUnit XML: one test case for each injection, one for each safety function that is stated,
/// skipped where the run did not show it, and one each for the fault-free twin, the response bound and the recovery.
/// Times are those of the rehearsal, in seconds: from the injection or the demand until the stop.
std::string to_junit(const Value& run);

/// Text for XML 1.0 with markup escaped; characters that XML cannot hold, and bytes that are no UTF-8, become U+FFFD.
std::string xml_text(std::string_view text);

}  // namespace tools
