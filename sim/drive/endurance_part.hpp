#pragma once
// One part of simulated years: a run of its own from power on, with its quiet periods passed over.
#include <algorithm>
#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "sim/channel/channel.hpp"
#include "sim/drive/endurance.hpp"
#include "sim/drive/judged_run.hpp"
#include "sim/drive/passing_over.hpp"
#include "sim/drive/quiet_period.hpp"
#include "sim/numeric/random.hpp"

namespace sim {

class EndurancePart {
  public:
    /// `period`: of the scans, to be jumped over; nothing: every cycle is simulated. The scenario must outlive it.
    EndurancePart(const Scenario& scenario, const Limits& limits, std::uint64_t seed, std::optional<Duration> period);

    /// Runs until `end`, in strides of `step` where nothing is jumped over; `go_on(now)` is asked now and then. False
    /// if it was told to stop, or if the link never runs.
    template <class GoOn>
    bool run(Instant end, Duration step, GoOn go_on) {
        const Duration stride = period_.value_or(step);
        for (std::uint64_t n = 0; run_.cell.now() < end; ++n) {
            const Instant before = run_.cell.now();
            const Instant next = std::min(before + stride, end);
            run_.cell.run_until(next);
            note(before);
            if (never_starts()) return false;
            if (period_ && next < end) try_jump(end);
            if (n % 256 == 0 && !go_on(run_.cell.now())) return false;
        }
        return true;
    }
    /// Adds what was seen.
    void tell(EnduranceResult& result);

  private:
    /// Counters whose growth tells a period.
    struct Totals {
        std::uint64_t accepted, repeats, sent, others;
        static Totals of(const proto::Endpoint& endpoint);
    };
    /// How everything was at the end of a period of the scans.
    struct Mark {
        std::uint64_t standing = 0;
        std::array<Totals, 2> totals{};
        std::uint64_t cycles = 0;
        std::uint64_t dangerous = 0;
        std::array<std::vector<std::uint16_t>, 2> places;  ///< of what was sent since the mark before
    };
    /// One telegram of a period.
    struct Sent {
        Direction direction;
        std::uint64_t number;  ///< of its way
        double strange;
    };
    void note(Instant since);
    [[nodiscard]] bool never_starts() const;
    void try_jump(Instant end);
    [[nodiscard]] const Mark& mark_at(std::size_t back) const {
        return ring_[(newest_ + ring_.size() - back) % ring_.size()];
    }
    /// The last `back` periods of the scans are one of the exchange: passes over as many as nothing happens in.
    bool jump(std::size_t back, Instant end);
    /// What one period of the exchange does; nothing if its telegrams are not alike.
    [[nodiscard]] std::optional<PassingOver::Period> period_back(std::size_t back) const;
    /// Lists the telegrams of a period, first all of one way and then all of the other, each way in order. False if one
    /// is never ordinary. `rare`: -log of the chance that all are ordinary.
    bool list_telegrams(std::size_t back, PassingOver::Period& period, double& rare);
    /// Which of the telegrams of a period is the first strange one, given that one is.
    std::size_t first_strange();
    /// Telegram `strange` of the coming period is strange, those before it in the list are not.
    void foretell(std::size_t strange, Channel::Then then);
    void pass(std::uint64_t periods, const PassingOver::Period& period);

    JudgedRun run_;
    PassingOver passing_{run_};
    Random draws_;
    std::uint64_t made_ = 0;
    std::optional<Duration> period_;
    std::array<Mark, exchange_periods_most + 1> ring_;
    std::size_t newest_ = 0;
    std::size_t marks_ = 0;  ///< in the ring, without anything strange since the oldest of them
    std::uint64_t strange_ = 0;
    std::vector<Sent> telegrams_;
    std::vector<double> any_;
    std::uint64_t windows_ = 0, cycles_passed_ = 0;
    Duration stopped_{};
    bool started_ = false;
};

}  // namespace sim
