#pragma once
// A demand's way over the link, step by step: when each signal that must fall was computed as 0, sent and in use. It
// judges nothing.
#include <array>
#include <cstdint>
#include <tuple>
#include <vector>

#include "sim/judge/events.hpp"
#include "sim/judge/result.hpp"

namespace sim {

struct Scenario;

class DemandTrail {
  public:
    /// The scenario must outlive it.
    /// `beyond`: by safeguard, how long its demand may be under way in other links of a cell; empty: in none.
    explicit DemandTrail(const Scenario& scenario, std::vector<Duration> beyond = {});

    // ---- told in the order of true time ----
    using hears = std::tuple<Demanded, DemandedElsewhere, Contacted, Computed, Produced, InUse, OutputsOff>;
    void hear(const Demanded& demanded) { begin(demanded.demand, demanded.at, true); }
    void hear(const DemandedElsewhere& demanded) { begin(demanded.demand, demanded.at, false); }
    void hear(const Contacted& contacted);
    void hear(const Computed& computed);
    void hear(const Produced& produced) {
        if (__builtin_expect(!open_.empty(), 0)) sent(produced);
    }
    void hear(const InUse& in_use);
    void hear(const OutputsOff& off) { hear(InUse{off.end, 0, off.at}); }

    /// Adds the hops to the demands of a result that heard the same.
    void put_into(RunResult& result) const;
    /// The hops of that demand over this link, whoever judged it; empty if its contact never opened.
    [[nodiscard]] std::vector<DemandHop> hops_of(std::size_t demand) const;

  private:
    struct Trail {
        std::size_t demand = 0, safeguard = 0;
        Instant since{};
        bool judged_here = true;
        /// The guard is free again and nothing of it comes from other links: what is not under way then never goes.
        Instant ends = proto::never;
        std::vector<DemandHop> hops;
    };
    [[nodiscard]] bool another_holds(std::size_t signal, std::size_t safeguard) const;
    void sent(const Produced& produced);
    void begin(std::size_t demand, Instant now, bool judged_here);
    void close_finished(Instant now);
    template <class Does>
    void each_open_hop(Does does);

    const Scenario& scenario_;
    std::vector<Duration> beyond_;
    std::vector<std::vector<std::size_t>> falling_;  ///< by safeguard: signals in the order of the way
    std::array<std::uint64_t, 2> used_{};            ///< by End: what it receives
    std::uint64_t free_ = ~std::uint64_t{0};         ///< safeguards, one bit each
    std::vector<Trail> trails_;                      ///< in the order of the contacts
    std::vector<std::size_t> open_;                  ///< places in trails_
};

}  // namespace sim
