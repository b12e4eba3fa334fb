#pragma once
#include <string_view>

namespace tools {

/// The day of this version, as tools/packaging/changelog tells it: the manual page is the same whenever it is made.
inline constexpr std::string_view released = "2026-11-30";

}  // namespace tools
