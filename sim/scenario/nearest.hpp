#pragma once
// The known word nearest to a mistyped one, for messages.
#include <cstddef>
#include <span>
#include <string>
#include <string_view>

namespace sim {

/// Letters to add, take away, replace, or exchange with the next to get from one word to the other (the distance of
/// Damerau and Levenshtein that changes no place twice).
std::size_t edit_distance(std::string_view a, std::string_view b);

/// The index in `words` of the nearest; the first one if several are. Requires that there is one.
std::size_t nearest_of(std::string_view word, std::span<const std::string> words);

/// True if a person may have meant `known` when typing `word`: at most a quarter of the letters differ, of
/// three one.
bool looks_like(std::string_view word, std::string_view known);

/// What a message offers in place of `word`: `nearest is "known"` if a person may have meant that, else
/// `write one of a, b, c`, at most a dozen, or the only one. Requires that there is one.
std::string offered_for(std::string_view word, std::span<const std::string> words);

}  // namespace sim
