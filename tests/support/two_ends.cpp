#include "tests/support/two_ends.hpp"

namespace tests {

using proto::End;
using proto::Instant;

void Way::put(Instant due, std::span<const std::uint8_t> bytes, std::uint64_t token) {
    const auto place = std::upper_bound(telegrams.begin(), telegrams.end(), due,
                                        [](Instant at, const InFlight& other) { return at < other.due; });
    telegrams.insert(place, {due, token, {bytes.begin(), bytes.end()}});
}

void TwoEnds::scan(End end) {
    if (before_scan) before_scan(end);
    way_to(end).take(now_, most_per_scan, [&](const Way::InFlight& telegram) { party(end).receive(telegram); });
    party(end).scan(now_, [this, end](const proto::Transmission& what, std::span<const std::uint8_t> bytes) {
        if (channel) channel({end, what, bytes});
    });
    if (after_scan) after_scan(end);
}

bool TwoEnds::step(Instant limit) {
    const End second = proto::other(first_);
    const Instant one = party(first_).next_scan(), two = party(second).next_scan();
    const Instant next = std::min(one, two);
    if (next > limit) return false;
    now_ = std::max(now_, next);
    scan(one <= two ? first_ : second);
    return true;
}

void TwoEnds::run_until(Instant limit) {
    while (step(limit)) {
    }
    now_ = limit;
}

void TwoEnds::deliver(Instant limit) {
    for (const End end : {End::controller, End::device})
        way_to(end).take(limit, std::numeric_limits<std::size_t>::max(),
                         [&](const Way::InFlight& telegram) { party(end).receive(telegram); });
}

void EndpointParty::scan(Instant now, const TwoEnds::Send& send) {
    end_.on_deadline(now);
    if (application) application(now);
    poll(end_, now, send);
}

}  // namespace tests
