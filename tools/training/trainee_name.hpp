#pragma once
// A name as somebody types it, before it may stand in lists and records.
#include <optional>
#include <string>
#include <string_view>

namespace tools {

/// The name with single blanks inside and none around it, or nothing: it holds what cannot be seen (controls, marks of
/// the direction of writing, characters without width) or is no UTF-8. "" if there is nothing but blanks.
std::optional<std::string> name_typed(std::string_view text);

}  // namespace tools
