#include "sim/cell/link_wiring.hpp"

#include <algorithm>

#include "sim/plant/application.hpp"
#include "sim/plant/reached.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "sim/timing/cell_ways.hpp"

namespace sim {
namespace {

std::uint64_t bit(std::size_t i) { return std::uint64_t{1} << i; }

/// What a link's failure makes 0: all that it carries.
std::uint64_t carried_by(const WholeCell& cell, std::size_t link) {
    std::uint64_t word = 0;
    for (std::size_t i = 0; i < cell.signals.size(); ++i)
        if (cell.signals[i] == link) word |= bit(i);
    return word;
}

bool fails_with(const WholeCell& cell, std::size_t link, std::size_t failing) {
    const Scenario& alone = cell.links[link].alone;
    const std::uint64_t zero = carried_by(cell, failing), obeyed = obeyed_by_machine(alone);
    for (std::size_t mode = 0; mode < alone.mode_count(); ++mode)
        if ((signals_falling_with(alone, zero, mode) & obeyed) == 0) return false;
    return true;
}

std::vector<LinkWiring::PassedValue> passed_values(const WholeCell& cell) {
    std::vector<LinkWiring::PassedValue> passed;
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        const std::vector<SafeValue>& own = cell.links[i].alone.values.all;
        for (std::size_t v = 0; v < own.size(); ++v)
            for (std::size_t j = 0; j < cell.links.size() && own[v].source.from_elsewhere; ++j) {
                const Values& others = cell.links[j].alone.values;
                const std::size_t of = others.place_of(own[v].source.from);
                if (j != i && of < others.all.size()) passed.push_back({i, v, j, of});
            }
    }
    return passed;
}

}  // namespace

LinkWiring link_wiring(const WholeCell& cell) {
    LinkWiring wiring;
    wiring.values = passed_values(cell);
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        const Scenario& alone = cell.links[i].alone;
        std::uint32_t failing = 0, hangs = 0;
        const std::uint64_t obeyed = made_of(alone.signals, obeyed_by_machine(alone));
        for (std::size_t j = 0; j < cell.links.size(); ++j) {
            if (alone.machine && (i == j || (obeyed & carried_by(cell, j)) != 0)) hangs |= 1U << j;
            if (alone.machine && (i == j || fails_with(cell, i, j))) failing |= 1U << j;
        }
        wiring.hangs_on.push_back(hangs);
        wiring.fails_with.push_back(failing);
        std::vector<std::uint32_t> crosses;
        for (const Safeguard& safeguard : alone.safeguards) {
            std::uint32_t links = 0;
            for (const WayOverLink& way : way_over_links(cell, i, safeguard.name))
                if (way.link != i) links |= 1U << way.link;
            crosses.push_back(links);
        }
        wiring.crosses.push_back(std::move(crosses));
        std::uint64_t passed_on = 0;
        for (std::size_t s = 0; s < alone.signals.size(); ++s) {
            const auto comes_from_elsewhere = [&](const Signal& signal) {
                return signal.elsewhere && is_made_of(alone.signals[s], signal.name);
            };
            if (alone.signals[s].sent_at(End::controller) &&
                std::any_of(alone.signals.begin(), alone.signals.end(), comes_from_elsewhere))
                passed_on |= bit(s);
        }
        wiring.passed_on.push_back(passed_on);
    }
    return wiring;
}

}  // namespace sim
