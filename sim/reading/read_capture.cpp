#include <algorithm>
#include <filesystem>
#include <optional>

#include "sim/reading/capture.hpp"
#include "sim/reading/captured_flow.hpp"
#include "sim/reading/device_waits.hpp"

namespace sim {
namespace {

using proto::Duration;

FileError wrong(const std::string& path, std::string message) {
    return {.file = path, .line = 0, .key = "", .message = std::move(message)};
}

std::vector<Duration> gaps(const CapturedFlow& flow) {
    std::vector<std::int64_t> all;
    std::optional<std::int64_t> before;
    for (const CapturedFlow::Seen& packet : flow.seen) {
        if (!packet.asks) continue;
        if (before) all.push_back(packet.at - *before);
        before = packet.at;
    }
    if (all.empty()) return {};
    std::vector<std::int64_t> sorted = all;
    std::sort(sorted.begin(), sorted.end());
    const std::int64_t usual = sorted[sorted.size() / 2];
    std::vector<Duration> found;
    found.reserve(all.size());
    for (const std::int64_t gap : all) found.push_back({std::max<std::int64_t>(gap - usual, 0)});
    return found;
}

/// Round trips, with all that the device takes, or less what it takes at least.
CapturedDelays round_trips(const std::vector<CapturedExchange>& exchanges, std::optional<Duration> subtract) {
    CapturedDelays found;
    for (const CapturedExchange& each : exchanges) {
        const Duration line = each.whole - subtract.value_or(Duration{});
        if (line < Duration{}) ++found.under;
        found.times.push_back(std::max(line, Duration{}));
    }
    if (!subtract) found.with_device = found.times.size();
    return found;
}

/// Each round trip less what it lay at the device. What the other capture did not last for is left out; what it
/// lacks in between keeps its whole time, too long rather than too short.
proto::Result<CapturedDelays, FileError> on_the_line(const std::vector<CapturedExchange>& exchanges,
                                                     const CapturedFlow& flow, const CaptureWish& wish) {
    const auto there = flow_in_capture({wish.at_device, wish.held_at_device}, wish.port, &flow);
    if (!there) return there.error();
    if (all_alike(flow) || all_alike(there.value()))
        return wrong(
            wish.at_device,
            "cannot be compared: its requests carry the same bytes one after the other, so no exchange is known "
            "by them; write subtract in place of at_device");
    const auto waits = waits_at_device(exchanges, there.value());
    const auto is_there = [](const std::optional<Duration>& wait) { return wait.has_value(); };
    const auto first = std::find_if(waits.begin(), waits.end(), is_there);
    const auto last = std::find_if(waits.rbegin(), waits.rend(), is_there).base();
    CapturedDelays found;
    for (auto wait = first; wait < last; ++wait) {
        const CapturedExchange& each = exchanges[static_cast<std::size_t>(wait - waits.begin())];
        if (!*wait) ++found.with_device;
        found.times.push_back(each.whole - wait->value_or(Duration{}));
    }
    if (found.times.size() < 2)
        return wrong(wish.at_device, "holds " + std::to_string(found.times.size()) + " of the " +
                                         std::to_string(exchanges.size()) + " exchanges of " + wish.path +
                                         "; capture whole packets of the same link at the same time at both ports");
    return found;
}

}  // namespace

proto::Result<CapturedDelays, FileError> delays_in_capture(const CaptureWish& wish) {
    const auto flow = flow_in_capture({wish.path, wish.held}, wish.port);
    if (!flow) return flow.error();
    const bool round = wish.use == CaptureWish::Use::round_trips;
    const std::vector<CapturedExchange> exchanges =
        round ? exchanges_of(flow.value()) : std::vector<CapturedExchange>{};
    CapturedDelays found;
    if (round)
        found = round_trips(exchanges, wish.subtract);
    else
        found.times = gaps(flow.value());
    if (found.times.size() < 2)
        return wrong(wish.path, "holds " + std::to_string(found.times.size()) + (round ? " round trips" : " gaps") +
                                    " of its busiest flow, too few for a distribution; capture longer" +
                                    (round ? ", or write use = \"gaps\"" : ""));
    if (round && !wish.at_device.empty()) {
        auto line = on_the_line(exchanges, flow.value(), wish);
        if (!line) return line.error();
        found = std::move(line.value());
    }
    constexpr Duration longest = proto::seconds(3600);
    for (const Duration delay : found.times)
        if (delay > longest) return wrong(wish.path, "holds a delay of over an hour; capture again");
    return found;
}

}  // namespace sim
