#include "sim/reading/profiles.hpp"

#include <algorithm>
#include <filesystem>
#include <system_error>
#include <vector>

#include "sim/reading/read.hpp"
#include "sim/scenario/nearest.hpp"

namespace sim {
namespace {

namespace fs = std::filesystem;

/// Where the profile of that name lies, or the names that there are.
struct ProfileSearch {
    std::string found;
    std::vector<std::string> names;
};

ProfileSearch search_profile(const std::string& scenario_file, const std::string& name) {
    ProfileSearch search;
    const fs::path folder = fs::path(scenario_file).parent_path();
    std::error_code error;
    if (name.find('/') != std::string::npos || name.ends_with(".toml")) {
        const fs::path path = (folder / name).lexically_normal();
        if (fs::exists(path, error)) search.found = path.string();
    }
    for (const char* step : {"profiles", "../profiles", "../../profiles"}) {
        if (!search.found.empty()) break;
        const fs::path profiles = (folder / step).lexically_normal();
        if (const fs::path path = profiles / (name + ".toml"); fs::exists(path, error)) search.found = path.string();
        constexpr std::size_t names_shown_max = 1000;
        for (fs::directory_iterator entry(profiles, error), end; !error && entry != end; entry.increment(error)) {
            if (entry->path().extension() == ".toml" && search.names.size() < names_shown_max) {
                search.names.push_back(entry->path().stem().string());
            }
        }
    }
    std::sort(search.names.begin(), search.names.end());
    return search;
}

}  // namespace

proto::Profile Profiles::get(const std::string& name, const Place& where, Problems& problems) {
    if (const auto known = known_.find(name); known != known_.end()) return known->second;
    const ProfileSearch search = search_profile(scenario_file_, name);
    proto::Profile profile;
    if (search.found.empty()) {
        problems.say(
            where, in_quotes(name) + " is no profile beside this scenario or in a folder profiles near it; " +
                       (search.names.empty() ? std::string("write the path of a profile file")
                                             : "nearest is \"" + search.names[nearest_of(name, search.names)] + "\""));
        return profile;
    }
    const proto::Result<proto::Profile, FileError> read = read_profile(search.found);
    if (read) {
        profile = read.value();
    } else {
        problems.say(read.error());
    }
    known_.emplace(name, profile);
    return profile;
}

}  // namespace sim
