#pragma once
// The worst response of a demand over several links that can be seen: a search in the full simulation over the phases
// of the stations and the placing of one fault episode, in one of the links or in all that share a segment. In each
// link that it disturbs telegrams are late from a moment on, and lost from another. What it finds can happen; that
// nothing worse can is for the bound to say.
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "sim/scenario/ends.hpp"
#include "sim/studies/worst_seen.hpp"

namespace sim {

struct WholeCell;

/// Of one link on the way. Times count from the demand's contact; `begin` may lie before it.
struct LinkPlacing {
    bool disturbed = false;
    Duration begin{}, extra{}, silence{};
    Duration phase{};  ///< of the device's first scan
};

struct CellWorstSeen {
    std::optional<Duration>
        response;                    ///< from the contact to the output; nothing if no demand arrived even undisturbed
    std::vector<std::size_t> links;  ///< that the demand crosses, in order
    std::vector<LinkPlacing> placing;  ///< one for each
    std::uint64_t tried = 0;
    bool never = false;  ///< a demand did not reach the output in a fault
};

/// For the machine that is judged with that link. Channel losses, queues and the scenario's own faults are left out.
/// The same cell and effort give the same result, whatever the number of threads.
CellWorstSeen search_worst(const WholeCell& cell, std::size_t machine_link, const std::string& safeguard,
                           const SearchEffort& effort);

/// "link infeed late by 31 ms, from 4 ms before the demand, and silent 12 ms after it; ...".
std::string words_of(const WholeCell& cell, const CellWorstSeen& seen);

}  // namespace sim
