#include "sim/channel/history.hpp"

#include <algorithm>
#include <cstddef>
#include <span>

#include "proto/parameters.hpp"

namespace sim {

void History::clear() {
    for (Ring& ring : rings_) {
        ring.entries.clear();
        ring.newest = 0;
    }
    first_offer_.reset();
    last_offer_.reset();
}

void History::note(const Telegram& telegram, const Tag& tag, Instant sent) {
    if (tag.parameter) {
        if (tag.link != 0 || tag.direction != Direction::to_device) return;
        const auto read = proto::decode_parameters(telegram.view());
        if (!read || read->step != proto::ParameterTelegram::Step::offer) return;
        last_offer_ = past_of(telegram, tag);
        if (!first_offer_) first_offer_ = last_offer_;
        return;
    }
    Ring& ring = rings_[lane_of(tag.link, tag.direction)];
    if (!ring.entries.empty()) {
        Entry& newest = ring.entries[ring.newest];
        const std::span<const std::uint8_t> was = newest.past.telegram.view();
        const std::span<const std::uint8_t> is = telegram.view();
        if (std::equal(was.begin(), was.end(), is.begin(), is.end())) {
            ++newest.run;
            newest.past.tag = tag;
            newest.past.sent = sent;
            return;
        }
    }
    if (ring.entries.size() < length) {
        ring.newest = ring.entries.size();
        ring.entries.emplace_back(telegram, tag, sent);
    } else {
        ring.newest = (ring.newest + 1) % length;
        ring.entries[ring.newest].note(telegram, tag, sent);
    }
}

const Past* History::past(std::uint8_t link, Direction direction, unsigned back, Counting counting) const {
    const Ring& ring = rings_[lane_of(link, direction)];
    std::uint64_t passed = 0;
    for (std::size_t n = 0; n < ring.entries.size(); ++n) {
        const Entry& entry = ring.back(n);
        passed += counting == Counting::distinct ? 1 : entry.run;
        if (passed > back) return &entry.past;
    }
    return nullptr;
}

}  // namespace sim
