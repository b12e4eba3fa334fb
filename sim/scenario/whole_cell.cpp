#include "sim/scenario/whole_cell.hpp"

#include <algorithm>

namespace sim {
namespace {

bool is_in(const Segment& segment, std::size_t link) {
    return std::find(segment.links.begin(), segment.links.end(), link) != segment.links.end();
}

}  // namespace

std::size_t WholeCell::link_called(std::string_view name) const {
    const auto found =
        std::find_if(links.begin(), links.end(), [&](const CellLink& link) { return link.name == name; });
    return static_cast<std::size_t>(found - links.begin());
}

Scenario WholeCell::of_file() const {
    Scenario of_file = links.front().alone;
    of_file.cell_link.clear();
    return of_file;
}

const std::string& WholeCell::station_of_safeguard(std::size_t safeguard) const {
    const std::optional<std::size_t>& link = safeguards[safeguard];
    return link ? links[*link].alone.device.name : links.front().alone.controller.name;
}

bool WholeCell::share_a_segment(std::size_t a, std::size_t b) const {
    bool a_is_in_one = false, b_is_in_one = false;
    for (const Segment& segment : segments) {
        const bool a_in = is_in(segment, a), b_in = is_in(segment, b);
        if (a_in && b_in) return true;
        a_is_in_one = a_is_in_one || a_in;
        b_is_in_one = b_is_in_one || b_in;
    }
    return !a_is_in_one || !b_is_in_one;
}

}  // namespace sim
