#pragma once
// Ways of demands over several links of a cell, and what each link must know of the others to be reckoned with alone.
#include <cstddef>
#include <string>
#include <vector>

#include "sim/scenario/ends.hpp"

namespace sim {

struct Scenario;
struct WholeCell;

/// What a demand crosses of one link, one way after the other.
struct WayOverLink {
    std::size_t link = 0;
    std::vector<Direction> hops;
};

/// The longest way of that safeguard's demand to the machine that is judged with that link; empty if there is none.
std::vector<WayOverLink> way_over_links(const WholeCell& cell, std::size_t machine_link, const std::string& safeguard);

/// For how long a demand of that safeguard must be held so that it cannot vanish in any link on its way: the longest
/// least_hold() of the ends that send it on.
Duration least_hold_on_way(const WholeCell& cell, std::size_t safeguard);

/// A demand of that safeguard is judged with the machine of that link: where a machine obeys it or a function asks for
/// it; one that nobody obeys, once.
bool is_judged_with(const WholeCell& cell, std::size_t link, const std::string& safeguard);

/// Puts into each link what follows from the others: the parts of ways over them, segments, for how long guards hold
/// their demands, and which demands are judged there. Requires links that were read with the same names each.
void complete_links(WholeCell& cell);

/// A link with a machine of another link, seen from there: as if it stood at the controller, commanded by what the
/// controller sends on, with the rest of each way as a part behind this link. For whoever asks what this link's
/// watchdog leaves for it; only functions whose demands cross this link are in it. Requires a machine at that other
/// link.
Scenario seen_over(const WholeCell& cell, std::size_t link, std::size_t machine_link);

/// The link as if it stood alone, with that machine whose functions leave the least for it: its own or another one that
/// its demands reach.
Scenario decisive_view(const WholeCell& cell, std::size_t link);

}  // namespace sim
