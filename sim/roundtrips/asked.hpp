#pragma once
// What became of each datagram that was asked: numbers and times in, losses, repetitions, changes of order and times on
// the line out. No clock and no socket.
#include <cstdint>
#include <span>
#include <utility>
#include <vector>

#include "proto/time.hpp"
#include "sim/roundtrips/measuring_datagram.hpp"

namespace sim {

/// One datagram that was sent.
struct RoundTrip {
    proto::Duration at;            ///< when it was sent, since the run began
    proto::Duration own_lateness;  ///< how much later than planned it had left our hands
    proto::Duration line{-1};      ///< from its sending to its answer's arrival, without `answered_after`; -1: lost
    proto::Duration answered_after;
    [[nodiscard]] bool answered() const { return line.ns >= 0; }
};

/// All of a run.
struct RoundTrips {
    std::vector<RoundTrip> sent;   ///< in the order of sending: the place is the number
    std::uint64_t duplicated = 0;  ///< answers beyond the first to the same number
    std::uint64_t reordered = 0;   ///< answers that came after that to a later number
    std::uint64_t after_wait = 0;  ///< answers later than the wait; they have their time as any other
    std::uint64_t strangers = 0;   ///< datagrams that were not ours
    std::uint64_t unbelieved = 0;  ///< answers that claim to have lain longer than they were away: nothing taken off
    std::uint64_t not_sent = 0;    ///< planned, but this computer was too late for it or would not send it
};

/// Keeps the books of a run. Bounded by the number of sent(): 32 bytes each.
class Asked {
  public:
    enum class Heard : std::uint8_t { answer, repeated, stranger, busy };

    /// `wait`: an answer that takes longer is counted in RoundTrips::after_wait. Room for `planned` is made at once:
    /// later it would cost time between two datagrams.
    Asked(std::uint32_t run, proto::Duration wait, std::size_t planned) : run_(run), wait_(wait) {
        run_of_.sent.reserve(planned);
    }

    /// What to send as the next one.
    [[nodiscard]] MeasuringDatagram next() const;
    /// The next one left at `at`, `own_lateness` after it was planned.
    void sent(proto::Duration at, proto::Duration own_lateness);
    void not_sent(std::uint64_t count) { run_of_.not_sent += count; }
    /// Something came in at `at`, from where the asks go. Busy: whoever answers refuses this number.
    Heard hear(std::span<const std::uint8_t> bytes, proto::Duration at);
    /// Something came from elsewhere.
    void stranger() { ++run_of_.strangers; }
    /// Numbers from this one on were refused, not lost: they are forgotten.
    void forget_from(std::uint32_t number);

    [[nodiscard]] std::uint32_t run() const { return run_; }
    [[nodiscard]] std::uint64_t count() const { return run_of_.sent.size(); }
    /// Without an answer so far.
    [[nodiscard]] std::uint64_t open() const { return open_; }
    [[nodiscard]] const RoundTrips& so_far() const { return run_of_; }
    /// Number of what was refused, once Heard::busy was told.
    [[nodiscard]] std::uint32_t refused() const { return refused_; }
    RoundTrips finish() { return std::move(run_of_); }

  private:
    RoundTrips run_of_;
    std::uint32_t run_, refused_ = 0, newest_ = 0;  ///< newest_: the latest number that was answered, plus one
    proto::Duration wait_;
    std::uint64_t open_ = 0;
};

}  // namespace sim
