#include "sim/drive/log_matches.hpp"

#include <algorithm>
#include <optional>

#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

/// How far ahead a telegram may have overtaken.
constexpr std::size_t look_ahead = 512;

}  // namespace

std::vector<Match> matches(const std::vector<Entry>& earlier, const std::vector<Entry>& later, Reuse reuse,
                           Duration oldest) {
    std::vector<Match> found;
    std::size_t from = 0;
    std::optional<Duration> apart;  // the clocks, and the way
    for (const Entry& l : later) {
        while (apart && from < earlier.size() && earlier[from].at + *apart + oldest < l.at) ++from;
        const std::size_t begin = reuse == Reuse::yes && from > 0 ? from - 1 : from;
        const std::size_t end = std::min(earlier.size(), begin + look_ahead);
        for (std::size_t e = begin; e < end; ++e) {
            if (earlier[e].identity != l.identity) continue;
            found.push_back({earlier[e].index, l.index});
            from = e + 1;
            apart = l.at - earlier[e].at;
            break;
        }
    }
    return found;
}

Duration lost_after(const Scenario& scenario) {
    const proto::LinkSettings &c = scenario.controller.link, &d = scenario.device.link;
    return proto::seconds(1) + std::max(c.watchdog, d.watchdog) * 2 + std::max(c.scan, d.scan) * 2;
}

}  // namespace sim
