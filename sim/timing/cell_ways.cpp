#include "sim/timing/cell_ways.hpp"

#include <algorithm>
#include <optional>
#include <utility>

#include "sim/scenario/whole_cell.hpp"
#include "sim/timing/bounds.hpp"
#include "sim/timing/response.hpp"
#include "sim/timing/way_of_demand.hpp"

namespace sim {
namespace {

/// Links that one episode may disturb together have the same number, from 1 on. Where A shares with B and B with C,
/// all three count as one: the bound may only be too long.
std::vector<unsigned> segment_numbers(const WholeCell& cell) {
    std::vector<unsigned> numbers(cell.links.size());
    for (std::size_t i = 0; i < numbers.size(); ++i) numbers[i] = static_cast<unsigned>(i) + 1;
    for (std::size_t round = 0; round < numbers.size(); ++round)
        for (std::size_t a = 0; a < numbers.size(); ++a)
            for (std::size_t b = 0; b < numbers.size(); ++b)
                if (cell.share_a_segment(a, b)) numbers[b] = numbers[a] = std::min(numbers[a], numbers[b]);
    return numbers;
}

OutsidePart part_of(const WholeCell& cell, const WayOverLink& way, OutsidePart::Place at) {
    const CellLink& link = cell.links[way.link];
    OutsidePart part;
    part.name = "link " + link.name;
    part.at = at;
    part.link = link.name;
    part.segment = link.alone.segment;
    const std::optional<ResponsePart> reckoned = part_of_link(link.alone, way.hops);
    part.no_bound = !reckoned;
    if (!reckoned) return part;
    part.delay = reckoned->delay;
    part.with_fault = reckoned->with_fault;
    part.source = reckoned->source;
    return part;
}

/// One part for all safeguards that cross a link in the same way.
void add_part(std::vector<OutsidePart>& parts, OutsidePart part, const std::string& safeguard) {
    for (OutsidePart& known : parts)
        if (known.link == part.link && known.at == part.at && known.source == part.source)
            return known.safeguards.push_back(safeguard);
    part.safeguards = {safeguard};
    parts.push_back(std::move(part));
}

void hold_demands(WholeCell& cell) {
    for (std::size_t i = 0; i < cell.safeguards.size(); ++i) {
        const Duration typed = cell.minimum_holds[i];
        const Duration hold = typed != Duration{} ? typed : least_hold_on_way(cell, i);
        for (CellLink& link : cell.links) {
            link.alone.safeguards[i].minimum_hold = hold;
            for (Demand& demand : link.alone.demands)
                if (demand.safeguard == link.alone.safeguards[i].name && demand.lasting < hold) demand.lasting = hold;
        }
    }
}

bool asks_for(const Scenario& alone, const std::string& safeguard) {
    return std::any_of(alone.functions.begin(), alone.functions.end(),
                       [&](const SafetyFunction& function) { return names(function, safeguard); });
}

bool answers(const Scenario& alone, const std::string& safeguard) {
    return alone.machine && (asks_for(alone, safeguard) || !longest_way(alone, safeguard).empty());
}

void share_out_demands(WholeCell& cell) {
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        for (Demand& demand : cell.links[i].alone.demands)
            demand.elsewhere = !is_judged_with(cell, i, demand.safeguard);
}

void tell_functions_elsewhere(WholeCell& cell) {
    for (CellLink& link : cell.links) {
        link.alone.functions_elsewhere.clear();
        for (const CellLink& other : cell.links)
            if (&other != &link)
                for (const SafetyFunction& function : other.alone.functions)
                    link.alone.functions_elsewhere.push_back(function);
    }
}

}  // namespace

std::vector<WayOverLink> way_over_links(const WholeCell& cell, std::size_t machine_link, const std::string& safeguard) {
    const Scenario& alone = cell.links[machine_link].alone;
    std::vector<WayOverLink> way;
    if (!alone.machine) return way;
    for (const std::size_t signal : longest_way(alone, safeguard)) {
        const std::size_t link = cell.signals[signal];
        if (way.empty() || way.back().link != link) way.push_back({link, {}});
        way.back().hops.push_back(alone.signals[signal].direction);
    }
    return way;
}

bool is_judged_with(const WholeCell& cell, std::size_t link, const std::string& safeguard) {
    if (answers(cell.links[link].alone, safeguard)) return true;
    std::optional<std::size_t> first;
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        if (answers(cell.links[i].alone, safeguard)) return false;
        if (cell.links[i].alone.machine && !first) first = i;
    }
    return link == first.value_or(0);
}

Duration least_hold_on_way(const WholeCell& cell, std::size_t safeguard) {
    const std::string& name = cell.links.front().alone.safeguards[safeguard].name;
    const std::optional<std::size_t>& at = cell.safeguards[safeguard];
    Duration longest = at ? least_hold(cell.links[*at].alone, End::device) : Duration{};
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        if (!at) longest = std::max(longest, least_hold(cell.links[i].alone, End::controller));
        for (const WayOverLink& way : way_over_links(cell, i, name))
            for (const Direction hop : way.hops)
                longest = std::max(longest, least_hold(cell.links[way.link].alone, sender(hop)));
    }
    return longest;
}

void complete_links(WholeCell& cell) {
    const std::vector<unsigned> segments = segment_numbers(cell);
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        cell.links[i].alone.segment = segments[i];
        cell.links[i].alone.cell_link = cell.links[i].name;
    }
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        Scenario& alone = cell.links[i].alone;
        for (const Safeguard& safeguard : alone.safeguards)
            for (const WayOverLink& way : way_over_links(cell, i, safeguard.name))
                if (way.link != i)
                    add_part(alone.outside_parts, part_of(cell, way, OutsidePart::Place::before_link), safeguard.name);
    }
    hold_demands(cell);
    share_out_demands(cell);
    tell_functions_elsewhere(cell);
}

Scenario seen_over(const WholeCell& cell, std::size_t link, std::size_t machine_link) {
    Scenario seen = cell.links[link].alone;
    const Scenario& there = cell.links[machine_link].alone;
    std::erase_if(seen.outside_parts, [](const OutsidePart& part) { return !part.link.empty(); });
    seen.machine = there.machine;
    seen.machine->at = End::controller;
    seen.stopping = there.stopping;
    seen.functions = there.functions;
    for (const Safeguard& safeguard : seen.safeguards) {
        const std::vector<WayOverLink> ways = way_over_links(cell, machine_link, safeguard.name);
        const auto own =
            std::find_if(ways.begin(), ways.end(), [&](const WayOverLink& way) { return way.link == link; });
        for (SafetyFunction& function : seen.functions)
            if (own == ways.end()) std::erase(function.safeguards, safeguard.name);
        for (auto way = ways.begin(); own != ways.end() && way != ways.end(); ++way) {
            if (way == own) continue;
            const auto at = way < own ? OutsidePart::Place::before_link : OutsidePart::Place::after_link;
            add_part(seen.outside_parts, part_of(cell, *way, at), safeguard.name);
        }
    }
    std::erase_if(seen.functions, [](const SafetyFunction& function) { return function.safeguards.empty(); });
    for (const OperatorAct& act : there.operator_acts)
        if (act.act == OperatorAct::Act::start_machine) seen.operator_acts.push_back(act);
    for (Demand& demand : seen.demands) demand.elsewhere = longest_way(seen, demand.safeguard).empty();
    return seen;
}

Scenario decisive_view(const WholeCell& cell, std::size_t link) {
    Scenario decides = cell.links[link].alone;
    const auto longest_of_view = [](const Scenario& view) {
        const LongestWatchdog longest = longest_watchdog(view);
        return longest.none ? Duration{} : longest.longest().value_or(proto::seconds(3600));
    };
    std::optional<Duration> least;
    if (decides.machine && !decides.functions.empty()) least = longest_of_view(decides);
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        if (i == link || !cell.links[i].alone.machine) continue;
        Scenario view = seen_over(cell, link, i);
        if (view.functions.empty()) continue;
        const Duration leaves = longest_of_view(view);
        if (least && *least <= leaves) continue;
        least = leaves;
        decides = std::move(view);
    }
    return decides;
}

}  // namespace sim
