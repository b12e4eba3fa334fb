#pragma once
// The known word nearest to a mistyped one, for messages.
#include <cstddef>
#include <span>
#include <string>
#include <string_view>

namespace sim {

/// Letters to add, take away or replace to get from one word to the other (Levenshtein distance).
std::size_t edit_distance(std::string_view a, std::string_view b);

/// The index in `words` of the nearest; the first one if several are. Requires that there is one.
std::size_t nearest_of(std::string_view word, std::span<const std::string> words);

/// True if a person may have meant `known` when typing `word`: at most a third of the letters differ.
bool looks_like(std::string_view word, std::string_view known);

}  // namespace sim
