#pragma once
// Waiting behind other traffic, for one direction of one link: a single server, first come first served.
//
// Model. Time is cut into slots of one service time S, beginning with the run. At the begin of slot k the other traffic
// brings A(k) packets of work S each; a telegram of the link is a packet of S too and comes whenever it is offered.
// With V the work that is waiting, in whole nanoseconds, V falls by one in each nanosecond down to 0, rises by S with
// each packet that still fits into `room`, and a telegram that finds V leaves V + S later (Lindley, Proceedings of the
// Cambridge Philosophical Society 48, 1952). So order is kept, and every step is exact.
//
//   constant   A(k) is what the load has added up to since the begin, less what was brought before: nothing random. Up
//              to a load of 1 only telegrams of the link wait for each other; above it V grows by load - 1 in each unit
//              of time, which is a delay that creeps.
//   bursts     in each slot a burst of B packets comes with the probability load / B; where that is above 1, its whole
//              part comes for certain. V found at the end of a slot is (B - 1) load / (2 (1 - load)) services in the
//              mean, if there is room for it (the known result for a server in discrete time with independent batches).
//
// The load may go over, straight, from one value to another. Draws are numbered by the slots, so what is drawn does not
// depend on when, or whether, telegrams are offered.
#include <cstdint>
#include <optional>

#include "proto/time.hpp"
#include "sim/numeric/random.hpp"
#include "sim/scenario/channel.hpp"

namespace sim {

class BackgroundQueue {
  public:
    /// Requires service >= 1 us, 0 <= loads <= 16, 1 <= burst <= 65536, room >= service, no negative times.
    BackgroundQueue(const BackgroundTraffic& settings, std::uint64_t seed, std::uint64_t lane);

    /// A telegram comes at `now`, never before the last one: how long it stays, its own service included. Nothing if
    /// there is no room for it.
    [[nodiscard]] std::optional<Duration> enter(proto::Instant now);
    /// The work that is waiting at `now`, never before the last call.
    [[nodiscard]] Duration waiting(proto::Instant now);

  private:
    static constexpr unsigned fraction_bits = 32;
    /// Packets in slot `k`.
    [[nodiscard]] std::uint64_t packets(std::uint64_t k);
    /// The load in slot `k`, in 2^-32.
    [[nodiscard]] std::uint64_t load(std::uint64_t k) const;
    void advance(proto::Instant now);

    BackgroundTraffic settings_;
    std::uint64_t load_before_, load_after_;  ///< in 2^-32
    Random draws_;
    std::uint64_t next_slot_ = 0;  ///< the first whose packets have not come yet
    std::uint64_t brought_ = 0;    ///< constant: part of a packet left over, in 2^-32
    std::int64_t work_ = 0;        ///< ns, waiting at `at_`
    std::int64_t at_ = 0;          ///< ns
};

}  // namespace sim
