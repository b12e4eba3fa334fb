#include "sim/odds/polled_grid.hpp"

#include <algorithm>
#include <numeric>
#include <utility>

#include "sim/odds/delay_chance.hpp"
#include "sim/odds/polled_state.hpp"

namespace sim {
namespace {

/// Delays of both ways, and how far ahead a scan may find what is sent now. Nothing later than twice a watchdog makes a
/// difference: even what is accepted at the last moment has another watchdog's time, and what is found after that comes
/// too late whenever it comes.
struct Ways {
    Ways(const LinkModel& link, const PolledGrid& grid)
        : out(link.to_device.channel.delay), back(link.to_controller.channel.delay) {
        const std::int64_t cycle = link.controller.scan.ns, scan = link.device.scan.ns;
        constexpr std::int64_t slot_most = PolledState::most(PolledState::slot_bits) - 1;
        constexpr std::int64_t scan_most = PolledState::no_answer - 1;
        const std::int64_t slots = std::min(out.longest() / scan + 2, 2 * grid.slots + 2);
        farthest_slot = std::min(slots, slot_most);
        late_out_unknown = slots > slot_most;
        const std::int64_t scans = std::min((farthest_slot * scan + back.longest()) / cycle + 2, 2 * grid.ages + 2);
        farthest_scan = std::min(scans, scan_most);
        late_back_unknown = scans > scan_most;
    }
    DelayChance out, back;
    std::int64_t farthest_slot = 0, farthest_scan = 0;
    bool late_out_unknown = false, late_back_unknown = false;
};

/// Scans of the controller, from the first that can find it, of an answer sent so long after the cycle's beginning.
std::vector<double> scans_that_find(const Ways& ways, std::int64_t cycle, std::int64_t at, std::int64_t first) {
    std::vector<double> found;
    for (std::int64_t j = first; j < ways.farthest_scan && (j - 1) * cycle < at + ways.back.longest(); ++j)
        found.push_back(ways.back.between(j == first ? -1 : (j - 1) * cycle - at, j * cycle - at));
    const std::int64_t last = first + static_cast<std::int64_t>(found.size());
    if (last == ways.farthest_scan) found.push_back(last == first ? 1.0 : ways.back.above((last - 1) * cycle - at));
    if (found.empty()) found.push_back(1.0);  // no delay, and the scan falls on the controller's
    return found;
}

/// The first scan of the device after the beginning of a cycle of that phase, in ns; at the same instant it comes
/// before it.
std::int64_t first_scan_in(const LinkModel& link, std::size_t phase) {
    const std::int64_t scan = link.device.scan.ns;
    const std::int64_t begin = static_cast<std::int64_t>(phase) * link.controller.scan.ns;
    const std::int64_t first = (link.device_phase.ns - begin) % scan;
    return first <= 0 ? first + scan : first;
}

void sum_up(PolledPhase& phase) {
    double until = 0.0;
    for (std::size_t slot = 1; slot < phase.found.size(); ++slot) phase.found_until[slot] = until += phase.found[slot];
    phase.from = phase.to = 0;
    for (unsigned slot = 1; slot < phase.found.size(); ++slot) {
        if (!(phase.found[slot] > 0.0)) continue;
        if (phase.from == 0) phase.from = slot;
        phase.to = slot;
    }
    phase.found_from = phase.found;
    for (std::size_t slot = phase.found_from.size() - 1; slot-- > 0;)
        phase.found_from[slot] += phase.found_from[slot + 1];
}

PolledPhase phase_of(const LinkModel& link, const Ways& ways, std::size_t number) {
    const std::int64_t cycle = link.controller.scan.ns, scan = link.device.scan.ns;
    const std::int64_t first = first_scan_in(link, number);
    PolledPhase phase;
    phase.slots = static_cast<unsigned>((cycle - first) / scan + (cycle >= first ? 1 : 0));
    if (cycle < first) phase.slots = 0;
    phase.offset = phase.found = {0.0};
    phase.first = {0};
    phase.answer_found.emplace_back();
    for (std::int64_t slot = 1; slot <= ways.farthest_slot; ++slot) {
        const std::int64_t at = first + (slot - 1) * scan;
        phase.offset.push_back(static_cast<double>(at) / static_cast<double>(cycle));
        const std::int64_t after = slot == 1 ? -1 : at - scan;
        const bool last = slot == ways.farthest_slot;
        phase.found.push_back(last ? ways.out.above(after) : ways.out.between(after, at));
        const std::int64_t first_scan = std::min((at + ways.back.shortest() + cycle - 1) / cycle, ways.farthest_scan);
        phase.first.push_back(static_cast<unsigned>(first_scan));
        phase.answer_found.push_back(scans_that_find(ways, cycle, at, first_scan));
    }
    while (phase.earliest_slot + 1 < phase.found.size() && !(phase.found[phase.earliest_slot] > 0.0))
        ++phase.earliest_slot;
    phase.earliest_scan = phase.first[phase.earliest_slot];
    phase.found_until.resize(phase.found.size());
    sum_up(phase);
    return phase;
}

}  // namespace

unsigned slot_that_finds(const LinkModel& link, std::size_t phase, Duration delay, std::size_t slots) {
    const std::int64_t scan = link.device.scan.ns, beyond = delay.ns - first_scan_in(link, phase);
    const std::int64_t slot = beyond <= 0 ? 1 : 1 + (beyond + scan - 1) / scan;
    return static_cast<unsigned>(std::min(slot, static_cast<std::int64_t>(slots) - 1));
}

PolledPhase found_as(const PolledPhase& phase, std::vector<double> found) {
    PolledPhase other = phase;
    other.found = std::move(found);
    sum_up(other);
    return other;
}

std::optional<PolledGrid> polled_grid(const LinkModel& link) {
    const std::int64_t cycle = link.controller.scan.ns, scan = link.device.scan.ns;
    const std::int64_t phases = scan / std::gcd(cycle, scan);
    constexpr std::int64_t phases_most = 64;
    if (phases > phases_most) return std::nullopt;
    PolledGrid grid;
    grid.ages = link.controller.watchdog.ns / cycle;
    grid.slots = link.device.watchdog.ns / scan;
    const Ways ways(link, grid);
    grid.late_out_unknown = ways.late_out_unknown;
    grid.late_back_unknown = ways.late_back_unknown;
    grid.last_scan = static_cast<unsigned>(ways.farthest_scan);
    using Word = PolledState;
    if (grid.ages >= Word::most(Word::age_bits) || grid.slots + ways.farthest_slot >= Word::most(Word::deadline_bits))
        return std::nullopt;
    for (std::int64_t p = 0; p < phases; ++p) grid.phases.push_back(phase_of(link, ways, static_cast<std::size_t>(p)));
    return grid;
}

}  // namespace sim
