#pragma once
// What a drill promises to show, as its file says it.
#include <algorithm>
#include <array>
#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "sim/reading/section.hpp"
#include "sim/training/drill.hpp"

namespace sim {

/// Says which of the texts typed under that key is none of the words.
template <std::size_t N>
void check_words(Section& section, std::string_view key, const std::vector<std::string>& typed,
                 const std::array<std::string_view, N>& words) {
    std::vector<std::string> names(words.begin(), words.end());
    holds(section, key, KeyShape::texts(names));
    for (const std::string& word : typed)
        if (std::find(names.begin(), names.end(), word) == names.end()) section.none_of(key, word, names);
}

/// `links`: the names of several links, each of which has a table of its own; none of a plant with one.
ExpectedShow read_expectation(Section section, const std::vector<std::string>& links);

}  // namespace sim
