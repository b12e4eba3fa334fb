#pragma once
// Simulated years: a scenario's link with the losses, delays and bit errors of its channel alone, no fault and no
// demand, and its operator at work. Cycles in which nothing happens are alike, so they are passed over: when the link
// stands after a period of its scans exactly as before it, and all telegrams of the period were ordinary, then it will
// go on so until a telegram is strange. The number of whole periods until then is drawn from its geometric law, they
// are passed over at once, and from there on everything is simulated in full until the link stands still in that sense
// again. Law and event loop agree by construction (tests/sim/endurance_test.cpp shows it):
//
//   - ordinary or not is decided for each telegram by itself, so the first strange one of a period is drawn by the
//     odds of each, those before it are ordinary and those after it are drawn as ever;
//   - what is passed over holds no watchdog that could expire, since an end whose watchdog is armed and not armed anew
//     does not stand as before, and nobody's act: a jump ends before the next one;
//   - instants are real ones, so the interval between two errors runs through jumps.
#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "proto/verdict.hpp"
#include "sim/judge/observer.hpp"
#include "sim/judge/result.hpp"

namespace sim {

struct Scenario;

enum class EnduranceMethod : std::uint8_t { jumps, event_loop };

/// How the time is cut: each part is a run of its own, from power on, with a seed of its own. Independent of how many
/// threads share the parts.
struct EnduranceParts {
    std::uint64_t count = 1;
    Duration lasting{};
};
/// A month or more each, a hundred years at most; requires 0 < years <= 1e6. A year has 365.25 days.
EnduranceParts parts_of_years(double years);

/// What can be said before anything runs.
struct EnduranceOutlook {
    EnduranceMethod method = EnduranceMethod::event_loop;
    std::string why;                  ///< the event loop, one sentence; empty for jumps
    Duration period{};                ///< after which the scans of both ends repeat; jumps only
    double strange_per_period = 0.0;  ///< chance of a strange telegram in it, jumps only
    double seconds_per_year = 0.0;    ///< of one processor, roughly
};
EnduranceOutlook endurance_outlook(const Scenario& scenario);

struct EnduranceResult {
    EnduranceMethod method = EnduranceMethod::event_loop;
    std::uint64_t parts_wanted = 0, parts_done = 0;
    double seconds = 0.0;  ///< simulated
    std::uint64_t cycles = 0;
    std::uint64_t windows = 0;                                                  ///< simulated in full between jumps
    std::uint64_t cycles_in_full = 0;                                           ///< not passed over
    std::array<SpuriousTrips, 2> trips{};                                       ///< by End
    std::array<std::array<std::uint64_t, proto::measure_count>, 2> rejected{};  ///< by End
    std::uint64_t acknowledgements = 0;
    double seconds_stopped = 0.0;  ///< one end or both not running, as seen at the ends of periods
    std::uint64_t dangerous = 0;
    std::vector<DangerousEvent> first_dangerous;  ///< of the first part with any
    bool link_started = true;                     ///< in every part
    std::uint64_t digest = 0;
    [[nodiscard]] std::uint64_t spurious() const { return trips[0].all() + trips[1].all(); }
};

/// Told about the work now and then, from the thread that asked for it.
class EnduranceMonitor {
  public:
    /// The share of the work that is done, 0..1; false stops it, and only parts that were finished count.
    virtual bool go_on(double done) = 0;

  protected:
    ~EnduranceMonitor() = default;
};

struct EnduranceQuestion {
    const Scenario& scenario;
    std::uint64_t seed = 1;
    EnduranceParts parts;
    EnduranceMethod method = EnduranceMethod::event_loop;
    unsigned jobs = 1;
};

/// Requires a scenario as read_scenario() gives it, and an outlook with jumps if these are wanted.
EnduranceResult endure(const EnduranceQuestion& question, EnduranceMonitor& monitor);

}  // namespace sim
