#pragma once
// Where the files lie that come with linkdrill: scenarios, telegram profiles, drills, schemas.
#include <string>
#include <string_view>

#include "proto/result.hpp"
#include "tools/program/failure.hpp"

namespace tools {

/// The folder that holds the folder `scenarios`: that of $LINKDRILL_DATA, else ../share/linkdrill from the program, as
/// it is installed, else the folder above the program's, the source tree that it was built in. Empty if none of these
/// is there; a failure if $LINKDRILL_DATA holds no scenarios.
proto::Result<std::string, Failure> own_files();

/// A folder of the shipped scenarios, such as "templates", or all of them for an empty name; a failure if nobody knows
/// where they are.
proto::Result<std::string, Failure> shipped_folder(const std::string& name);

/// Tells the readers in sim where the shipped scenarios lie. Or what is wrong with $LINKDRILL_DATA.
proto::Result<std::string, Failure> tell_readers_of_own_files();

/// A worked line as it can be typed here: a shipped file, "scenarios/...", that is not in the working folder is named
/// where it lies, or is "FILE" if nobody knows.
std::string example_here(std::string_view example);

}  // namespace tools
