#pragma once
// Brings records of one telegram in two logs together, by the telegram's bytes alone.
#include <cstddef>
#include <cstdint>
#include <variant>
#include <vector>

#include "sim/judge/event_log.hpp"

namespace sim {

struct Scenario;

/// One record of each side that is about the same telegram.
struct Match {
    std::size_t earlier, later;
};

/// What of a log is about telegrams of one kind and place: where it stands, and which telegram it is.
struct Entry {
    std::size_t index = 0;
    std::uint64_t identity = 0;
    Instant at{};  ///< by the log's clock
};

/// The events of kind E that `wanted`, with the telegram that `identity` finds in each.
template <class E, class Wanted, class Identity>
std::vector<Entry> entries(const std::vector<Event>& log, Wanted wanted, Identity identity) {
    std::vector<Entry> found;
    for (std::size_t i = 0; i < log.size(); ++i)
        if (const E* e = std::get_if<E>(&log[i]); e != nullptr && wanted(*e)) found.push_back({i, identity(*e), e->at});
    return found;
}

/// For each `later` entry the first unused `earlier` one with the same identity, in order. `reuse`: an earlier one may
/// have several later ones (a telegram that is sent again). Earlier ones that nobody heard of are passed over, however
/// many: a part may have been away.
enum class Reuse : std::uint8_t { no, yes };
/// `oldest`: what is older than a telegram by more, with the clocks as they were seen last, is none that it could be.
std::vector<Match> matches(const std::vector<Entry>& earlier, const std::vector<Entry>& later, Reuse reuse,
                           Duration oldest);

/// How long a telegram can be on its way between two logs of one link, waiting included, before it counts as lost.
Duration lost_after(const Scenario& scenario);

}  // namespace sim
