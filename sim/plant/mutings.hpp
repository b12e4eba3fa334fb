#pragma once
// Which signals are muted as designed: two sensors see a workpiece, one after the other within a time, and for no
// longer than another (IEC 61496-1 and IEC 62046, from memory). After an end both must be free before it can begin
// again.
#include <algorithm>
#include <cstdint>
#include <vector>

#include "proto/time.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

using proto::Instant;

class Mutings {
  public:
    explicit Mutings(const Scenario& scenario) {
        for (std::size_t i = 0; i < scenario.signals.size(); ++i) {
            const std::optional<Muting>& muting = scenario.signals[i].muted_by;
            if (!muting) continue;
            One one;
            one.signal = std::uint64_t{1} << i;
            one.first = bit_of(scenario, muting->first);
            one.second = bit_of(scenario, muting->second);
            one.order_within = muting->order_within;
            one.at_most = muting->at_most;
            all_.push_back(one);
        }
    }
    void begin_again() {
        for (One& one : all_) one.now = {};
    }
    /// Signals that are muted, one bit each.
    [[nodiscard]] std::uint64_t muted() const {
        std::uint64_t muted = 0;
        for (const One& one : all_)
            if (one.now.active) muted |= one.signal;
        return muted;
    }
    /// Safeguards stand so now, one bit each, 1 free; or nothing but time has passed.
    void see(std::uint64_t free, Instant now) {
        for (One& one : all_) one.see((free & one.first) == 0, (free & one.second) == 0, now);
    }
    /// When the next one ends by its time.
    [[nodiscard]] Instant next_end() const {
        Instant next = proto::never;
        for (const One& one : all_)
            if (one.now.active) next = std::min(next, one.now.since + one.at_most);
        return next;
    }

  private:
    struct One {
        std::uint64_t signal = 0, first = 0, second = 0;
        Duration order_within{}, at_most{};
        struct Now {
            bool active = false;
            bool spent = false;              ///< over, and not both have been free since
            Instant seen_at = proto::never;  ///< the first of them; never: neither is
            Instant since{};
        } now;
        void see(bool a, bool b, Instant at) {
            if (!a && !b) {
                now = {};
                return;
            }
            if (now.seen_at == proto::never) now.seen_at = at;
            if (now.active && (!(a && b) || at >= now.since + at_most)) {
                now.active = false;
                now.spent = true;
            }
            if (now.active || now.spent || !(a && b)) return;
            now.active = at - now.seen_at <= order_within;
            now.spent = !now.active;
            now.since = at;
        }
    };
    static std::uint64_t bit_of(const Scenario& scenario, const std::string& safeguard) {
        for (std::size_t i = 0; i < scenario.safeguards.size(); ++i)
            if (scenario.safeguards[i].name == safeguard) return std::uint64_t{1} << i;
        return 0;
    }
    std::vector<One> all_;
};

}  // namespace sim
