#include "sim/drive/quiet_period.hpp"

#include <numeric>

#include "proto/contract.hpp"
#include "proto/profile.hpp"

namespace sim {
namespace {

ScanGrid scans_of(const Scenario& scenario, End end) {
    return {scenario.end(end).link.scan, end == End::controller ? Duration{} : scenario.device_phase};
}

}  // namespace

std::optional<Duration> period_of(const Scenario& scenario) {
    const std::int64_t cycle = scenario.controller.link.scan.ns;
    const auto with = [&](std::optional<std::int64_t> so_far, std::int64_t other) -> std::optional<std::int64_t> {
        if (!so_far) return std::nullopt;
        const std::int64_t times = other / std::gcd(*so_far, other);
        if (times > cycles_per_period_most || *so_far * times > cycle * cycles_per_period_most) return std::nullopt;
        return *so_far * times;
    };
    std::optional<std::int64_t> period = with(cycle, scenario.device.link.scan.ns);
    for (const End end : {End::controller, End::device}) {
        const proto::Profile& profile = scenario.end(end).link.profile;
        if (profile.time_stamp_bits != 0) period = with(period, profile.time_stamp_unit.ns);
    }
    if (!period) return std::nullopt;
    return Duration{*period};
}

std::optional<QuietTelegrams> quiet_of(const Scenario& scenario, Direction direction, Duration period,
                                       std::uint64_t seed) {
    const proto::LinkSettings& link = scenario.end(sender(direction)).link;
    const auto layout = proto::layout_of(link.profile, link.payload_sent);
    proto::require(layout.ok(), "endurance of an impossible profile");
    return QuietTelegrams::make(direction == Direction::to_device ? scenario.to_device : scenario.to_controller,
                                scans_of(scenario, sender(direction)), scans_of(scenario, receiver(direction)), period,
                                layout.value().total_bytes * 8,
                                Random(seed, Concern::jump, static_cast<std::uint64_t>(direction)));
}

}  // namespace sim
