#include "sim/drive/cell_campaign.hpp"

#include <algorithm>
#include <numeric>
#include <utility>

#include "sim/drive/trial_draw.hpp"

namespace sim {
namespace {

bool is_of_controller(const Fault& fault) { return fault.at_end == End::controller; }

/// The n-th fault of the controller in a link, which is the n-th in each of them.
std::vector<FaultOfLink> nth_of_controller(const WholeCell& cell, std::size_t n) {
    std::vector<FaultOfLink> places;
    for (std::size_t link = 0; link < cell.links.size(); ++link) {
        const std::vector<Fault>& faults = cell.links[link].alone.faults;
        std::size_t seen = 0;
        for (std::size_t i = 0; i < faults.size(); ++i)
            if (is_of_controller(faults[i]) && seen++ == n) places.push_back({link, i});
    }
    return places;
}

std::vector<std::vector<FaultOfLink>> all_faults(const WholeCell& cell) {
    std::vector<std::vector<FaultOfLink>> all;
    for (std::size_t n = 0;; ++n) {
        std::vector<FaultOfLink> places = nth_of_controller(cell, n);
        if (places.empty()) break;
        all.push_back(std::move(places));
    }
    for (std::size_t link = 0; link < cell.links.size(); ++link) {
        const std::vector<Fault>& faults = cell.links[link].alone.faults;
        for (std::size_t i = 0; i < faults.size(); ++i)
            if (!is_of_controller(faults[i])) all.push_back({{link, i}});
    }
    const auto line_of = [&](const std::vector<FaultOfLink>& places) {
        return cell.links[places.front().link].alone.faults[places.front().fault].where.line;
    };
    std::stable_sort(all.begin(), all.end(), [&](const auto& a, const auto& b) { return line_of(a) < line_of(b); });
    return all;
}

}  // namespace

CellCampaign campaign_of(WholeCell cell) {
    CellCampaign made;
    made.cell = std::move(cell);
    const bool none = std::all_of(made.cell.links.begin(), made.cell.links.end(),
                                  [](const CellLink& link) { return link.alone.faults.empty(); });
    if (none)
        for (CellLink& link : made.cell.links) link.alone.faults = every_error(link.alone);
    made.strikes = all_faults(made.cell);
    made.whole = made.cell.of_file();
    made.whole.functions = made.cell.functions;
    for (const CellLink& link : made.cell.links)
        if (!made.whole.machine) made.whole.machine = link.alone.machine;
    made.whole.faults.clear();
    for (const std::vector<FaultOfLink>& places : made.strikes)
        made.whole.faults.push_back(made.cell.links[places.front().link].alone.faults[places.front().fault]);
    return made;
}

}  // namespace sim
