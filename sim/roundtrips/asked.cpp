#include "sim/roundtrips/asked.hpp"

#include <algorithm>

namespace sim {

MeasuringDatagram Asked::next() const {
    return {MeasuringDatagram::Kind::ask, run_, static_cast<std::uint32_t>(run_of_.sent.size()), {}};
}

void Asked::sent(proto::Duration at, proto::Duration own_lateness) {
    run_of_.sent.push_back({.at = at, .own_lateness = own_lateness, .answered_after = {}});
    ++open_;
}

Asked::Heard Asked::hear(std::span<const std::uint8_t> bytes, proto::Duration at) {
    using Kind = MeasuringDatagram::Kind;
    const auto came = decode_measuring(bytes);
    const bool ours = came && came->run == run_ && came->number < run_of_.sent.size() &&
                      (came->kind == Kind::answer || came->kind == Kind::busy) && at >= run_of_.sent[came->number].at;
    if (!ours) {
        ++run_of_.strangers;
        return Heard::stranger;
    }
    if (came->kind == Kind::busy) {
        refused_ = came->number;
        return Heard::busy;
    }
    RoundTrip& asked = run_of_.sent[came->number];
    if (asked.answered()) {
        ++run_of_.duplicated;
        return Heard::repeated;
    }
    const proto::Duration away = at - asked.at;
    asked.line = away;
    if (came->answered_after > away) {
        ++run_of_.unbelieved;
    } else {
        asked.answered_after = came->answered_after;
        asked.line = away - came->answered_after;
    }
    if (away > wait_) ++run_of_.after_wait;
    if (came->number < newest_) ++run_of_.reordered;
    newest_ = std::max(newest_, came->number + 1);
    --open_;
    return Heard::answer;
}

void Asked::forget_from(std::uint32_t number) {
    if (number >= run_of_.sent.size()) return;
    const auto first = run_of_.sent.begin() + number;
    open_ -= static_cast<std::uint64_t>(
        std::count_if(first, run_of_.sent.end(), [](const RoundTrip& each) { return !each.answered(); }));
    run_of_.sent.erase(first, run_of_.sent.end());
}

}  // namespace sim
