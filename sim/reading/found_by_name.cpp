#include "sim/reading/found_by_name.hpp"

#include <algorithm>
#include <array>
#include <filesystem>
#include <system_error>

#include "sim/reading/shipped.hpp"

namespace sim {
namespace {

namespace fs = std::filesystem;

/// Folders of that kind, in the order in which they are looked at: near the scenario, then those that are shipped.
std::vector<fs::path> folders_of(const std::string& scenario_file, const std::string& kind) {
    constexpr std::array<const char*, 3> steps{".", "..", "../.."};
    std::vector<fs::path> folders;
    for (const char* step : steps)
        folders.push_back((fs::path(scenario_file).parent_path() / step / kind).lexically_normal());
    if (!shipped_scenarios().empty()) folders.push_back(fs::path(shipped_scenarios()) / kind);
    return folders;
}

}  // namespace

std::string file_found_by_name(const std::string& scenario_file, const std::string& kind, const std::string& name) {
    const fs::path folder = fs::path(scenario_file).parent_path();
    std::error_code error;
    if (name.find('/') != std::string::npos || name.ends_with(".toml")) {
        const fs::path path = (folder / name).lexically_normal();
        if (fs::exists(path, error)) return path.string();
    }
    for (const fs::path& known : folders_of(scenario_file, kind)) {
        const fs::path path = known / (name + ".toml");
        if (fs::exists(path, error)) return path.string();
    }
    return {};
}

std::vector<std::string> names_found(const std::string& scenario_file, const std::string& kind) {
    std::vector<std::string> names;
    std::error_code error;
    for (const fs::path& known : folders_of(scenario_file, kind)) {
        constexpr std::size_t names_shown_max = 20;
        for (fs::directory_iterator entry(known, error), end; !error && entry != end; entry.increment(error)) {
            if (entry->path().extension() == ".toml" && names.size() < names_shown_max) {
                names.push_back(entry->path().stem().string());
            }
        }
    }
    std::sort(names.begin(), names.end());
    names.erase(std::unique(names.begin(), names.end()), names.end());
    return names;
}

}  // namespace sim
