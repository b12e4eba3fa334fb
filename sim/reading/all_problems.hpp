#pragma once
// Everything that is wrong with a file at once, for those who mend it: an editor, a check before a commit.
#include <string>
#include <vector>

#include "sim/reading/read.hpp"

namespace sim {

/// What is wrong with a scenario, profile, drill or file of action cards, by lines, at most a hundred things; nothing
/// if it can be read. What is wrong only because of something else that is, is not told: it shows once that is mended.
/// A file that is no TOML has one problem.
std::vector<FileError> all_problems_of(const std::string& path);
/// The same of a text; what it names is looked for as if it were the file at `path`.
std::vector<FileError> all_problems_in(const std::string& text, const std::string& path);

}  // namespace sim
