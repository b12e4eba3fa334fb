#pragma once
// Things of a scenario that are known by their names: safeguards, signals, modes.
#include <algorithm>
#include <string>
#include <string_view>
#include <vector>

#include "sim/reading/parts.hpp"
#include "sim/scenario/nearest.hpp"

namespace sim {

/// The one of that name, or nullptr.
template <class T>
const T* named(const std::vector<T>& things, std::string_view name) {
    const auto found = std::find_if(things.begin(), things.end(), [&](const T& t) { return t.name == name; });
    return found == things.end() ? nullptr : &*found;
}

/// What is offered of the given things, or what to write if there are none.
template <class T>
std::string nearest_to(const std::vector<T>& things, std::string_view name, const std::string& if_none) {
    std::vector<std::string> names;
    names.reserve(things.size());
    for (const T& thing : things) names.push_back(thing.name);
    return names.empty() ? "; " + if_none : "; " + offered_for(name, names);
}

/// The key `name`; says so if it is missing or no short name.
inline std::string read_name(Section& section) {
    const std::optional<std::string> name = section.text("name");
    if (!section.has("name")) section.missing("name", "\"front_curtain\"");
    if (name && (name->empty() || name->size() > 60)) {
        section.say("name", in_quotes(*name) + " has not 1 to 60 letters; write a short name");
    }
    return name.value_or("");
}

/// Says so if there is no room for one more.
template <class T>
bool too_many(const std::vector<T>& things, Section& section, std::string_view what) {
    if (things.size() < names_max) return false;
    section.problems().say(section.place(),
                           "is one too many; write at most " + std::to_string(names_max) + " " + std::string(what));
    return true;
}

}  // namespace sim
