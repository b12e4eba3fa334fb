#pragma once
// What was offered to the channel lately, for faults that bring it back.
#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "sim/channel/passage.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {

class History {
  public:
    /// Distinct telegrams kept per link and direction.
    static constexpr unsigned length = 128;

    /// Forgets everything; keeps its room.
    void clear();
    /// Notes a telegram as it was offered, before anything happened to it.
    void note(const Telegram& telegram, const Tag& tag, Instant sent);
    /// See Channel::past().
    [[nodiscard]] const Past* past(std::uint8_t link, Direction direction, unsigned back, Counting counting) const;
    /// Parameter telegrams of the first handshake step on link 0: the newest and the oldest.
    [[nodiscard]] const Past* last_offer() const { return last_offer_ ? &*last_offer_ : nullptr; }
    [[nodiscard]] const Past* first_offer() const { return first_offer_ ? &*first_offer_ : nullptr; }

  private:
    struct Entry {
        Entry(const Telegram& telegram, const Tag& tag, Instant sent) { note(telegram, tag, sent); }
        /// Only the bytes that count are written: there is one of these for each telegram.
        void note(const Telegram& telegram, const Tag& tag, Instant sent) {
            past.telegram.assign(telegram.view());
            past.tag = tag;
            past.sent = sent;
            run = 1;
        }
        Past past;
        std::uint64_t run = 1;  ///< how often in a row these bytes were offered
    };
    struct Ring {
        std::vector<Entry> entries;  ///< grows up to `length`, then the oldest is overwritten
        std::size_t newest = 0;
        [[nodiscard]] const Entry& back(std::size_t n) const {
            return entries[(newest + entries.size() - n) % entries.size()];
        }
    };
    std::array<Ring, lane_count> rings_;
    std::optional<Past> first_offer_, last_offer_;
};

}  // namespace sim
