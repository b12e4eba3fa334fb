#include "sim/timing/least_watchdog.hpp"

#include <algorithm>
#include <cstdint>
#include <set>

#include "sim/scenario/scenario.hpp"
#include "sim/timing/bounds.hpp"

namespace sim {
namespace {

/// How the scans of both ends fall, in nanoseconds: the controller's at 0, cycle, ..., the device's at phase, phase +
/// scan, ... Of two at the same instant the device's is first.
struct Grid {
    std::int64_t cycle, scan, phase, out, back;

    /// The device's scan that finds what the controller sent at `at`.
    [[nodiscard]] std::int64_t device_finds(std::int64_t at) const {
        const std::int64_t since = std::max(at + out, at + 1) - phase;
        return phase + std::max<std::int64_t>(0, (since + scan - 1) / scan) * scan;
    }
    /// The controller's scan that finds what the device sent at `at`.
    [[nodiscard]] std::int64_t controller_finds(std::int64_t at) const {
        return (at + back + cycle - 1) / cycle * cycle;
    }
};

/// The longest and the shortest time from one to the next.
struct Gaps {
    std::int64_t longest = 0, shortest = INT64_MAX;
    void add(std::int64_t gap) {
        longest = std::max(longest, gap);
        shortest = std::min(shortest, gap);
    }
};

/// So many steps are followed at most; the scans of nearly all links fall as before within some dozens.
constexpr int steps_most = 20'000;

/// Exchange after exchange, the next one begun where an answer is found: between the controller's acceptances, and
/// between the device's.
struct Exchanges {
    Gaps controller, device;
};

/// Where the scans do not fall as before within so many steps, nothing is known but what no exchange is under and over.
Exchanges bounds_on(const Grid& grid) {
    const std::int64_t most = grid.out + grid.back + grid.scan * 2 + grid.cycle;
    Exchanges found;
    found.controller = {most, std::max(grid.cycle, grid.out + grid.back)};
    found.device = {most + grid.scan, grid.scan};
    return found;
}

Exchanges exchanges_on(const Grid& grid) {
    const auto place = [&](std::int64_t at) { return (at - grid.phase % grid.scan + grid.scan) % grid.scan; };
    std::int64_t sent = 0;
    std::set<std::int64_t> places;
    // until the scans fall as they did before; then all that follows is a repetition
    while (places.insert(place(sent)).second) {
        if (places.size() > steps_most) return bounds_on(grid);
        sent = grid.controller_finds(grid.device_finds(sent));
    }
    const std::int64_t again = place(sent);
    Exchanges found;
    std::int64_t asked = grid.device_finds(sent);
    for (;;) {
        const std::int64_t answered = grid.controller_finds(asked);
        const std::int64_t next = grid.device_finds(answered);
        found.controller.add(answered - sent);
        found.device.add(next - asked);
        sent = answered;
        asked = next;
        if (place(sent) == again) return found;
    }
}

/// Between the scans of the receiver that find something, where the sender says something in each of its own.
Gaps stream_on(const Grid& grid, End receiver) {
    const bool at_device = receiver == End::device;
    const std::int64_t step = at_device ? grid.cycle : grid.scan;
    const auto finds = [&](std::int64_t at) { return at_device ? grid.device_finds(at) : grid.controller_finds(at); };
    const std::int64_t period = at_device ? grid.scan : grid.cycle;
    const std::int64_t begin = at_device ? 0 : grid.phase;
    std::int64_t before = finds(begin);
    const std::int64_t first = before - begin;
    Gaps found;
    for (std::int64_t sent = begin + step, i = 0; i < steps_most; ++i, sent += step) {
        const std::int64_t next = finds(sent);
        if (next != before) found.add(next - before);
        before = next;
        if (next - sent == first && found.longest != 0) return found;
    }
    return {step + period, period};  // as of an exchange
}

LeastWatchdog watchdog_of(const Gaps& gaps) { return {{gaps.shortest}, {gaps.longest}}; }

/// The start needs an exchange in which the scans fall well; what follows needs the stream's longest gap.
LeastWatchdog of_stream(const Gaps& exchange, const Gaps& stream) {
    return {{std::max(exchange.shortest, stream.shortest)}, {std::max(exchange.longest, stream.longest)}};
}

}  // namespace

LeastWatchdogs least_watchdogs(const Scenario& scenario) {
    const Grid grid{scenario.controller.link.cycle.ns, scenario.device.link.scan.ns, scenario.device_phase.ns,
                    shortest_of(scenario.to_device.delay).ns, shortest_of(scenario.to_controller.delay).ns};
    const Exchanges exchanges = exchanges_on(grid);
    if (scenario.controller.link.exchange == proto::Exchange::polled)
        return {watchdog_of(exchanges.controller), watchdog_of(exchanges.device)};
    return {of_stream(exchanges.controller, stream_on(grid, End::controller)),
            of_stream(exchanges.device, stream_on(grid, End::device))};
}

}  // namespace sim
