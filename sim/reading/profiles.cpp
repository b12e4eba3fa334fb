#include "sim/reading/profiles.hpp"

#include <vector>

#include "sim/reading/found_by_name.hpp"
#include "sim/reading/read.hpp"
#include "sim/scenario/nearest.hpp"

namespace sim {

proto::Profile Profiles::get(const std::string& name, const Place& where, Problems& problems) {
    if (const auto known = known_.find(name); known != known_.end()) return known->second;
    const std::string found = file_found_by_name(scenario_file_, "profiles", name);
    proto::Profile profile;
    if (found.empty()) {
        const std::vector<std::string> names = names_found(scenario_file_, "profiles");
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
