#include "sim/odds/measured_share.hpp"

#include <algorithm>

#include "sim/numeric/share_interval.hpp"
#include "sim/timing/bounds.hpp"

namespace sim {
namespace {

/// Cells of delays that were seen weigh one each; one that spans the limit counts as longer.
std::uint64_t longer_than(const DelayShape& shape, Duration limit) {
    std::uint64_t count = 0;
    for (const DelayShape::Cell& cell : shape.cells)
        if (cell.high > limit) count += cell.weight;
    return count;
}

}  // namespace

std::optional<MeasuredShare> measured_share(const LinkModel& link) {
    const DelayShape& out = link.to_device.channel.delay;
    const DelayShape& back = link.to_controller.channel.delay;
    if (link.exchange != proto::Exchange::polled || (out.samples == 0 && back.samples == 0)) return std::nullopt;
    // so many whole cycles are left for an exchange
    const Duration runs = link.controller.scan * (link.controller.watchdog.ns / link.controller.scan.ns);
    MeasuredShare share;
    const std::uint64_t late_out = out.samples != 0 ? longer_than(out, runs - shortest_of(back)) : 0;
    const std::uint64_t late_back = back.samples != 0 ? longer_than(back, runs - shortest_of(out)) : 0;
    const bool of_out = back.samples == 0 || (out.samples != 0 && late_out >= late_back);
    share.round_trips = (of_out ? out : back).of_round_trips.has_value();
    share.samples = of_out ? out.samples : back.samples;
    share.longer = of_out ? late_out : late_back;
    const Interval interval = share_interval(share.longer, share.samples);
    share.low = interval.low;
    share.high = interval.high;
    return share;
}

}  // namespace sim
