#include "sim/reading/profiles.hpp"

#include <algorithm>
#include <array>
#include <filesystem>
#include <system_error>
#include <vector>

#include "sim/reading/read.hpp"
#include "sim/reading/shipped.hpp"
#include "sim/scenario/nearest.hpp"

namespace sim {
namespace {

namespace fs = std::filesystem;

/// Folders with profiles, in the order in which they are looked at: near the scenario, then those that are shipped.
std::vector<fs::path> folders_of_profiles(const std::string& scenario_file) {
    constexpr std::array<const char*, 3> steps{"profiles", "../profiles", "../../profiles"};
    std::vector<fs::path> folders;
    for (const char* step : steps) folders.push_back((fs::path(scenario_file).parent_path() / step).lexically_normal());
    if (!shipped_scenarios().empty()) folders.push_back(fs::path(shipped_scenarios()) / "profiles");
    return folders;
}

/// Where the profile of that name lies; empty if there is none.
std::string file_of_profile(const std::string& scenario_file, const std::string& name) {
    const fs::path folder = fs::path(scenario_file).parent_path();
    std::error_code error;
    if (name.find('/') != std::string::npos || name.ends_with(".toml")) {
        const fs::path path = (folder / name).lexically_normal();
        if (fs::exists(path, error)) return path.string();
    }
    for (const fs::path& profiles : folders_of_profiles(scenario_file)) {
        const fs::path path = profiles / (name + ".toml");
        if (fs::exists(path, error)) return path.string();
    }
    return {};
}

std::vector<std::string> names_of_profiles(const std::string& scenario_file) {
    std::vector<std::string> names;
    std::error_code error;
    for (const fs::path& profiles : folders_of_profiles(scenario_file)) {
        constexpr std::size_t names_shown_max = 20;
        for (fs::directory_iterator entry(profiles, error), end; !error && entry != end; entry.increment(error)) {
            if (entry->path().extension() == ".toml" && names.size() < names_shown_max) {
                names.push_back(entry->path().stem().string());
            }
        }
    }
    std::sort(names.begin(), names.end());
    names.erase(std::unique(names.begin(), names.end()), names.end());
    return names;
}

}  // namespace

proto::Profile Profiles::get(const std::string& name, const Place& where, Problems& problems) {
    if (const auto known = known_.find(name); known != known_.end()) return known->second;
    const std::string found = file_of_profile(scenario_file_, name);
    proto::Profile profile;
    if (found.empty()) {
        const std::vector<std::string> names = names_of_profiles(scenario_file_);
        std::string there;
        for (const std::string& known : names) there += (there.empty() ? "" : ", ") + known;
        const std::string nearest = names.empty() ? "" : names[nearest_of(name, names)];
        const bool near = looks_like(name, nearest);
        problems.say(where,
                     in_quotes(name) + " is no profile beside this scenario or in a folder profiles near it; " +
                         (names.empty() ? std::string("write the path of a profile file")
                                        : (near ? "nearest is \"" + nearest + "\", and there are " : "write one of ") +
                                              there + "; linkdrill new --profiles says what each carries"));
        return profile;
    }
    const proto::Result<proto::Profile, FileError> read = read_profile(found);
    if (read) {
        profile = read.value();
    } else {
        problems.say(read.error());
        problems.doubt("link");
    }
    known_.emplace(name, profile);
    return profile;
}

}  // namespace sim
