#pragma once
// What comes with the program: where its scenarios and profiles lie, for whatever is not found beside a scenario.
#include <string>
#include <string_view>

namespace sim {

/// Told once, before anything is read: the folder with the shipped scenarios; empty, as unless told, for none. It is no
/// argument of each reader since nothing else of what they read depends on who calls them.
void set_shipped_scenarios(std::string folder);
const std::string& shipped_scenarios();

/// A shipped file as somebody who stands here finds it: "scenarios/NAME" if that is in the working folder or nothing
/// is known of another, else in shipped_scenarios().
std::string shipped_file(std::string_view name);

}  // namespace sim
