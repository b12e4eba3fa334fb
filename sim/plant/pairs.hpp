#pragma once
// Signals that are sent on two bits, the second as the complement of the first, and read together: a receiver takes a 1
// only from a 1 and a 0, so that one bit that is stuck, bent or typed in a wrong place is no permission. Both bits
// equal for longer than the discrepancy time: the pair stays 0 until a reset of a safeguard that feeds it.
//
// A link that stopped gives 0 on both bits, which is no discrepancy: while the end does not run nothing is timed, nor
// while it reads two zeros and has not read a proper pair since it runs, since a sender that does not run yet sends
// those. Two ones are nobody's substitute values.
#include <cstdint>
#include <vector>

#include "proto/time.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {

using proto::Instant;
class Plant;
struct Scenario;

class Pairs {
  public:
    /// The pairs that this end sends and those that it receives.
    Pairs(const Scenario& scenario, End end);
    [[nodiscard]] bool any() const { return !sent_.empty() || !received_.empty(); }
    void begin_again();

    /// Signals as they are sent, of those just computed: each second bit is the complement of its first.
    [[nodiscard]] std::uint64_t sent(std::uint64_t computed) const;
    /// Signals as the application uses them, of the bits just received: a first bit is what its pair counts as, a
    /// second one is as received. `running`: of the end; else what it reads are substitute values.
    std::uint64_t used(std::uint64_t received, bool running, const Plant& plant, Instant now);
    /// The same without time, latch and reset: what an application would take in that does not look.
    [[nodiscard]] std::uint64_t proper(std::uint64_t received) const;
    /// When used() may give something else although nothing changes: a discrepancy has lasted too long.
    [[nodiscard]] Instant next() const;

  private:
    struct Bits {
        std::uint64_t first = 0, second = 0;
    };
    struct Read {
        Bits bits;
        Duration discrepancy{};
        std::vector<std::size_t> fed_by;  ///< safeguards
        struct Now {
            Instant equal_since = proto::never;
            bool seen_proper = false;  ///< since the end runs
            bool latched = false;
            std::uint64_t resets = 0;  ///< of those that feed it, as seen last
        } now;
        void see(bool first, bool second, bool reset, Instant at);
    };
    std::vector<Bits> sent_;
    std::vector<Read> received_;
};

}  // namespace sim
