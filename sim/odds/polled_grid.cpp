#include "sim/odds/polled_grid.hpp"

#include <numeric>

#include "sim/odds/delay_chance.hpp"
#include "sim/odds/polled_state.hpp"

namespace sim {
namespace {

/// Delays of both ways, and how far ahead a scan may find what is sent now.
struct Ways {
    explicit Ways(const LinkModel& link) : out(link.to_device.channel.delay), back(link.to_controller.channel.delay) {
        const std::int64_t cycle = link.controller.scan.ns, scan = link.device.scan.ns;
        farthest_slot = out.longest() / scan + 2;
        farthest_scan = (out.longest() + scan + back.longest()) / cycle + 2;
    }
    DelayChance out, back;
    std::int64_t farthest_slot = 0, farthest_scan = 0;
};

/// Of the cycle that begins at `begin`.
PolledPhase phase_of(const LinkModel& link, const Ways& ways, std::int64_t begin) {
    const std::int64_t cycle = link.controller.scan.ns, scan = link.device.scan.ns;
    // the first scan of the device after the controller's: at the same instant it comes before it
    std::int64_t first = (link.device_phase.ns - begin) % scan;
    if (first <= 0) first += scan;
    PolledPhase phase;
    phase.slots = static_cast<unsigned>((cycle - first) / scan + (cycle >= first ? 1 : 0));
    if (cycle < first) phase.slots = 0;
    phase.offset = phase.found = phase.found_until = {0.0};
    phase.first = {0};
    phase.answer_found.emplace_back();
    double until = 0.0;
    for (std::int64_t slot = 1; slot <= ways.farthest_slot; ++slot) {
        const std::int64_t at = first + (slot - 1) * scan;
        phase.offset.push_back(static_cast<double>(at) / static_cast<double>(cycle));
        phase.found.push_back(ways.out.between(slot == 1 ? -1 : at - scan, at));
        until += phase.found.back();
        phase.found_until.push_back(until);
        const std::int64_t earliest = (at + ways.back.shortest() + cycle - 1) / cycle;
        phase.first.push_back(static_cast<unsigned>(earliest));
        std::vector<double>& found = phase.answer_found.emplace_back();
        for (std::int64_t j = earliest; (j - 1) * cycle < at + ways.back.longest(); ++j)
            found.push_back(ways.back.between(j == earliest ? -1 : (j - 1) * cycle - at, j * cycle - at));
        if (found.empty()) found.push_back(1.0);  // no delay, and the scan falls on the controller's
    }
    return phase;
}

}  // namespace

std::optional<PolledGrid> polled_grid(const LinkModel& link) {
    const std::int64_t cycle = link.controller.scan.ns, scan = link.device.scan.ns;
    const std::int64_t phases = scan / std::gcd(cycle, scan);
    constexpr std::int64_t phases_most = 64;
    if (phases > phases_most) return std::nullopt;
    const Ways ways(link);
    PolledGrid grid;
    grid.ages = link.controller.watchdog.ns / cycle;
    grid.slots = link.device.watchdog.ns / scan;
    using Word = PolledState;
    if (grid.ages >= Word::most(Word::age_bits) || ways.farthest_slot >= Word::most(Word::slot_bits) ||
        ways.farthest_scan >= Word::no_answer || grid.slots + ways.farthest_slot >= Word::most(Word::deadline_bits))
        return std::nullopt;
    for (std::int64_t p = 0; p < phases; ++p) grid.phases.push_back(phase_of(link, ways, p * cycle));
    return grid;
}

}  // namespace sim
