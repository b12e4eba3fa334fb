#pragma once
// What a document is of, so that documents of one folder can be told to belong together.
#include <string>

#include "tools/text/value.hpp"

namespace sim {
struct Scenario;
}

namespace tools {

/// The bytes of the scenario's file; none if it can no longer be read.
std::string text_of(const sim::Scenario& scenario);

/// Sums up the bytes of the scenario's file and the telegram profiles that it names, 16 hex digits; "" if the file can
/// no longer be read. Two scenarios of one name and different content differ in it.
std::string fingerprint_of_file(const sim::Scenario& scenario);

/// The document of a command on this scenario with "version", "scenario_fingerprint" and "made_by" added, where it
/// lacks them.
Value with_provenance(const Value& document, const sim::Scenario& scenario);

}  // namespace tools
