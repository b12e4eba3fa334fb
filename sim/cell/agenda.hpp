#pragma once
// What people and failing ends are to do, and when: a small sorted list. Of entries at the same instant the one that
// was noted first comes first.
#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "proto/time.hpp"

namespace sim {

using proto::Instant;

class Agenda {
  public:
    enum class Kind : std::uint8_t {
        demand_begins,
        demand_ends,
        press,
        let_go,
        start_machine,
        end_fails,
        end_mends,
        output_watchdog,
        safeguard_check,
        safeguard_reset,
        reset_pressed,
        reset_let_go,
        hand_in,
        hand_out,
        select_mode,
        mode_selected,
        application_due,  ///< `index`: the end
        muting_ends
    };
    struct Entry {
        Instant at;
        std::uint64_t order;
        Kind kind;
        std::size_t index;  ///< of a demand, fault, safeguard or mode, as the kind says
    };

    void note(Instant when, Kind kind, std::size_t index) {
        const Entry entry{when, order_++, kind, index};
        const auto later = [](const Entry& a, const Entry& b) {
            return a.at != b.at ? a.at > b.at : a.order > b.order;
        };
        entries_.insert(std::upper_bound(entries_.begin(), entries_.end(), entry, later), entry);
        next_ = entries_.back().at;
    }
    [[nodiscard]] Instant next() const { return next_; }
    /// Something is to happen at just that instant.
    [[nodiscard]] bool has(Instant at) const {
        return std::any_of(entries_.begin(), entries_.end(), [at](const Entry& entry) { return entry.at == at; });
    }
    /// Requires one: next() is not never.
    Entry take() {
        const Entry entry = entries_.back();
        entries_.pop_back();
        look();
        return entry;
    }
    template <class Which>
    void forget(Which which) {
        entries_.erase(std::remove_if(entries_.begin(), entries_.end(), which), entries_.end());
        look();
    }
    /// As it was at first; keeps its room.
    void begin_again() {
        entries_.clear();
        order_ = 0;
        look();
    }

  private:
    void look() { next_ = entries_.empty() ? proto::never : entries_.back().at; }
    std::vector<Entry> entries_;  ///< sorted, the next one last
    std::uint64_t order_ = 0;
    Instant next_ = proto::never;
};

}  // namespace sim
