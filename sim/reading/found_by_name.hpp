#pragma once
// Files that a scenario names without a path: telegram profiles and modules, near the scenario or shipped.
#include <string>
#include <vector>

namespace sim {

/// The file of that name: a path from the scenario's folder, or NAME.toml in a folder `kind` beside the scenario, up to
/// two levels above it, or of what ships. Empty if there is none.
std::string file_found_by_name(const std::string& scenario_file, const std::string& kind, const std::string& name);

/// Names that would be found, at most some twenty a folder, each once and in order.
std::vector<std::string> names_found(const std::string& scenario_file, const std::string& kind);

}  // namespace sim
