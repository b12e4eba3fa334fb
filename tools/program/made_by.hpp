#pragma once
// Which build a store or a document comes from, for people: compared with nothing, part of no fingerprint.
#include <string>
#include <string_view>

namespace tools {

/// "linkdrill 0.1.0, commit 1a2b3c4d5e6f, kernel AVX2, GNU 12.2.0, Boost 1.74.0, …", without line ends: the kernel is
/// that chosen on this computer, libraries are those built with.
const std::string& made_by();

/// What the build knows of itself, from the generated made_by.cpp: all of the above but the kernel.
extern const std::string_view built_from, built_with;

/// Adds each line of `more` that `lines` does not have yet, up to twenty in all.
void add_builds(std::string& lines, std::string_view more);

}  // namespace tools
