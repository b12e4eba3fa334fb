#pragma once
// The logs of an end and of the channel of a live run, brought together telegram by telegram.
#include <cstddef>
#include <cstdint>
#include <limits>
#include <optional>
#include <vector>

#include "proto/endpoint.hpp"
#include "sim/drive/live_round_trips.hpp"
#include "sim/judge/event_log.hpp"

namespace sim {

using Events = std::vector<Event>;

/// Clocks: channel time = own time + offset, known between two limits.
struct ClockOffset {
    std::int64_t least = std::numeric_limits<std::int64_t>::min();
    std::int64_t most = std::numeric_limits<std::int64_t>::max();
    /// The value in between nearest to 0: parts in one process share a clock, and are then found to.
    [[nodiscard]] std::int64_t value() const { return least > 0 ? least : most < 0 ? most : 0; }
};

struct JoinedLog {
    ClockOffset offset;
    std::uint64_t first_offer = 1;                    ///< its number
    std::vector<std::uint64_t> instance_of_offer;     ///< by number of what was offered, from that one on; 0 unknown
    std::vector<std::optional<proto::Token>> tokens;  ///< by place of Concluded in the end's log
    Conclusions conclusions;
    std::size_t matched = 0, delivered = 0;
    /// Channel time less own time of the first telegram that both know: where both began together, how long it took.
    std::optional<Duration> began_apart;
    /// The end of the last stretch of what the channel was offered and nobody wrote down that it was sent.
    std::optional<Instant> unknown_until;
};

/// Numbers of what was offered to the channel.
struct OfferNumbers {
    std::uint64_t first = 1, last = 0;
};
OfferNumbers offers_in(const Events& channel);

/// `oldest`: see matches().
JoinedLog bring_together(const Events& end_log, const Events& channel, End end, const OfferNumbers& offers,
                         Duration oldest);

}  // namespace sim
