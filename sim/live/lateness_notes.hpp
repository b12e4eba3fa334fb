#pragma once
// How late a part of a live link was, as it goes into the part's record.
#include <cstdint>
#include <vector>

#include "proto/time.hpp"

namespace sim {

using proto::Duration;
using proto::Instant;

class LatenessNotes {
  public:
    /// Of a run of that duration; what is later than `allowed` is told at once.
    LatenessNotes(Duration duration, Duration allowed) : duration_(duration), allowed_(allowed) {}

    /// A scan or a delivery was so late. `now`: the run's time.
    void note(Duration late, Instant now, std::vector<std::int64_t>& into_ns) const {
        if (was_due_in_run(late, now)) into_ns.push_back(late.ns);
    }
    /// The part itself was so late, for whatever it would have done: a channel with nothing to deliver too. Told once
    /// in a while, the latest of it.
    void note_itself(Duration late, Instant now, std::vector<std::int64_t>& into_ns);

  private:
    /// Whether what is so late now was due while the run lasted, whenever it is noticed: a computer that stood still
    /// across the end was late for the run.
    [[nodiscard]] bool was_due_in_run(Duration late, Instant now) const {
        const Instant due = now - late;
        return due >= Instant{} && due < Instant{} + duration_;
    }

    Duration duration_, allowed_;
    Duration latest_{};       ///< not told yet
    Instant tells_latest_{};  ///< not before that
};

}  // namespace sim
