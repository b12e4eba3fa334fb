#include "sim/reading/device_waits.hpp"

#include <algorithm>
#include <cstdlib>
#include <utility>

namespace sim {
namespace {

using proto::Duration;

/// The requests of a flow by what they carry.
class Requests {
  public:
    explicit Requests(const CapturedFlow& flow) : flow_(flow) {
        for (std::size_t i = 0; i < flow.seen.size(); ++i)
            if (flow.seen[i].asks) places_.emplace_back(flow.seen[i].identity, i);
        std::sort(places_.begin(), places_.end());
    }
    /// How far each that carries this came after `at`; nothing of what comes too often to tell anything.
    [[nodiscard]] std::vector<std::int64_t> distances(std::uint64_t identity, std::int64_t at) const {
        constexpr std::ptrdiff_t too_often = 64;
        const auto begin = std::lower_bound(places_.begin(), places_.end(), std::pair{identity, std::size_t{0}});
        std::vector<std::int64_t> found;
        for (auto each = begin; each != places_.end() && each->first == identity; ++each) {
            if (each - begin == too_often) return {};
            found.push_back(flow_.seen[each->second].at - at);
        }
        return found;
    }
    /// Of those from place `from` on the one that came nearest to `at`; the earlier one of two.
    [[nodiscard]] std::optional<std::size_t> nearest(std::uint64_t identity, std::size_t from, std::int64_t at) const {
        std::optional<std::size_t> best;
        const auto apart = [&](std::size_t place) { return std::abs(flow_.seen[place].at - at); };
        for (auto each = std::lower_bound(places_.begin(), places_.end(), std::pair{identity, from});
             each != places_.end() && each->first == identity; ++each) {
            if (best && apart(each->second) >= apart(*best)) break;  // they are in order of time: no nearer one comes
            best = each->second;
        }
        return best;
    }

  private:
    const CapturedFlow& flow_;
    std::vector<std::pair<std::uint64_t, std::size_t>> places_;
};

/// From the request at that place to the first such answer, if that comes before `most`.
std::optional<Duration> wait_from(const CapturedFlow& flow, std::size_t request, std::uint64_t answer, Duration most) {
    const std::int64_t begin = flow.seen[request].at;
    for (std::size_t i = request + 1; i < flow.seen.size() && flow.seen[i].at - begin <= most.ns; ++i)
        if (!flow.seen[i].asks && flow.seen[i].identity == answer) return Duration{flow.seen[i].at - begin};
    return std::nullopt;
}

/// What the device's clock is ahead of the controller's, the way there included, as found at some exchange.
struct Ahead {
    std::int64_t by = 0;
    std::int64_t at = 0;  ///< by the controller's clock
};

/// Numbers come round again, and captures may have begun minutes apart: right is the difference of the clocks by which
/// most requests are found, of equal ones the smallest.
std::optional<Ahead> ahead_by_most(const std::vector<CapturedExchange>& exchanges, const Requests& requests) {
    constexpr std::size_t looked_at = 2000;
    constexpr std::int64_t alike_ns = 50'000'000;
    std::vector<Ahead> all;
    const std::size_t step = exchanges.size() / looked_at + 1;
    for (std::size_t i = 0; i < exchanges.size(); i += step)
        for (const std::int64_t by : requests.distances(exchanges[i].request, exchanges[i].asked_at))
            all.push_back({by, exchanges[i].asked_at});
    std::sort(all.begin(), all.end(), [](const Ahead& a, const Ahead& b) { return a.by < b.by; });
    std::optional<Ahead> best;
    std::size_t most = 0, first = 0;
    for (std::size_t end = 1; end <= all.size(); ++end) {
        while (all[end - 1].by - all[first].by > alike_ns) ++first;
        const Ahead& middle = all[(first + end) / 2];
        const std::size_t count = end - first;
        if (count < most || (count == most && best && std::abs(middle.by) >= std::abs(best->by))) continue;
        most = count;
        best = middle;
    }
    return best;
}

}  // namespace

std::vector<CapturedExchange> exchanges_of(const CapturedFlow& flow) {
    std::vector<CapturedExchange> found;
    const CapturedFlow::Seen* asked = nullptr;
    for (const CapturedFlow::Seen& packet : flow.seen) {
        if (packet.asks) {
            if (asked == nullptr) asked = &packet;
        } else if (asked != nullptr) {
            found.push_back({asked->at, asked->identity, packet.identity, {packet.at - asked->at}});
            asked = nullptr;
        }
    }
    return found;
}

std::vector<std::optional<Duration>> waits_at_device(const std::vector<CapturedExchange>& exchanges,
                                                     const CapturedFlow& at_device) {
    constexpr std::int64_t stamp_ns = 10'000;       // so coarse are stamps at worst
    constexpr std::int64_t uneven_ns = 10'000'000;  // so much a way may differ from one request to another
    constexpr std::int64_t drift_parts = 5'000;     // two clocks drift apart by 200 ppm at most
    const Requests requests(at_device);
    std::vector<std::optional<Duration>> waits(exchanges.size());
    std::optional<Ahead> ahead = ahead_by_most(exchanges, requests);
    std::size_t from = 0;
    for (std::size_t i = 0; i < exchanges.size() && ahead; ++i) {
        const CapturedExchange& each = exchanges[i];
        const std::int64_t expected = each.asked_at + ahead->by;
        const auto request = requests.nearest(each.request, from, expected);
        if (!request) continue;
        const std::int64_t apart = at_device.seen[*request].at - expected;
        const std::int64_t drift = std::abs(each.asked_at - ahead->at) / drift_parts;
        if (std::abs(apart) > each.whole.ns + uneven_ns + drift) continue;
        const auto wait = wait_from(at_device, *request, each.answer, each.whole + Duration{stamp_ns});
        if (!wait) continue;
        waits[i] = std::min(*wait, each.whole);
        ahead = Ahead{ahead->by + apart, each.asked_at};
        from = *request + 1;
    }
    return waits;
}

bool all_alike(const CapturedFlow& flow) {
    const CapturedFlow::Seen* before = nullptr;
    std::size_t requests = 0, alike = 0;
    for (const CapturedFlow::Seen& packet : flow.seen) {
        if (!packet.asks) continue;
        ++requests;
        if (before != nullptr && before->identity == packet.identity) ++alike;
        before = &packet;
    }
    return alike * 2 > requests;
}

}  // namespace sim
