#include "sim/scenario/nearest.hpp"

#include <algorithm>
#include <numeric>
#include <vector>

#include "proto/contract.hpp"

namespace sim {

std::size_t edit_distance(std::string_view a, std::string_view b) {
    std::vector<std::size_t> row(b.size() + 1), above(b.size() + 1), second(b.size() + 1);
    std::iota(row.begin(), row.end(), std::size_t{0});
    for (std::size_t i = 1; i <= a.size(); ++i) {
        second.swap(above);
        above = row;
        row[0] = i;
        for (std::size_t j = 1; j <= b.size(); ++j) {
            row[j] = std::min({above[j] + 1, row[j - 1] + 1, above[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1)});
            const bool exchanged = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
            if (exchanged) row[j] = std::min(row[j], second[j - 2] + 1);
        }
    }
    return row[b.size()];
}

std::size_t nearest_of(std::string_view word, std::span<const std::string> words) {
    proto::require(!words.empty(), "nearest_of() needs a word to choose");
    // Long words come from nowhere but broken files: what they are near to does not matter, but the time does.
    word = word.substr(0, 100);
    std::size_t best = 0;
    std::size_t least = edit_distance(word, words[0]);
    for (std::size_t i = 1; i < words.size(); ++i) {
        const std::size_t distance = edit_distance(word, words[i]);
        if (distance < least) {
            least = distance;
            best = i;
        }
    }
    return best;
}

bool looks_like(std::string_view word, std::string_view known) {
    word = word.substr(0, 100);
    return edit_distance(word, known) * 4 <= std::max(word.size(), known.size()) + 1;
}

std::string offered_for(std::string_view word, std::span<const std::string> words) {
    const std::string& nearest = words[nearest_of(word, words)];
    if (looks_like(word, nearest)) return "nearest is \"" + nearest + "\"";
    if (words.size() == 1) return "write \"" + nearest + "\", the only one there is";
    constexpr std::size_t most = 12;
    std::string all = "write one of ";
    for (std::size_t i = 0; i < std::min(words.size(), most); ++i) all += (i == 0 ? "" : ", ") + words[i];
    return words.size() > most ? all + " and " + std::to_string(words.size() - most) + " more" : all;
}

}  // namespace sim
