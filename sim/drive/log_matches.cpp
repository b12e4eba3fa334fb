#include "sim/drive/log_matches.hpp"

#include <algorithm>

namespace sim {
namespace {

/// How far ahead a telegram may have overtaken, or how many may be lost in a row, before the search gives up.
constexpr std::size_t look_ahead = 512;

}  // namespace

std::vector<Match> matches(const std::vector<Entry>& earlier, const std::vector<Entry>& later, Reuse reuse) {
    std::vector<Match> found;
    std::size_t from = 0;
    for (const Entry& l : later) {
        const std::size_t begin = reuse == Reuse::yes && from > 0 ? from - 1 : from;
        const std::size_t end = std::min(earlier.size(), begin + look_ahead);
        for (std::size_t e = begin; e < end; ++e) {
            if (earlier[e].identity != l.identity) continue;
            found.push_back({earlier[e].index, l.index});
            from = e + 1;
            break;
        }
    }
    return found;
}

}  // namespace sim
