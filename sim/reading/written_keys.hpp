#pragma once
// Keys, paths and single values as they are written.
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace sim {

/// One step of a path: a key, or the place in a list.
struct PathStep {
    std::string key{};
    std::size_t index = 0;  ///< 1.. of an item; 0: a key
};
using WrittenPath = std::vector<PathStep>;

/// "fault[3].at", bits."pit door"; nothing for what is no path, or has over 64 steps.
std::optional<WrittenPath> path_in(std::string_view path);
/// Without indices: "fault.at"; of a drill without "variant." and "scenario.", which lead to its keys and its plant's.
std::string path_in_words(const WrittenPath& path);

/// The bare or quoted key at `at` of a text, which then is behind it; nothing if there is none.
std::optional<std::string> read_key(std::string_view text, std::size_t& at);
/// Goes over a text in quotes, a number, a word or a time; false if there is none.
bool skip_scalar(std::string_view text, std::size_t& at);

/// A key as it is written: in quotes only where it needs them.
std::string key_written(std::string_view key);
/// A text in quotes.
std::string text_written(std::string_view text);

}  // namespace sim
