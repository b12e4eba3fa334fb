#pragma once
// A distance that counts from reduced speed: behind the guards of another function, which has slowed the machine down
// before anybody comes to this one. It does only if that is certain, else from full speed, with the reason.
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "sim/timing/minimum_distance.hpp"
#include "sim/timing/stopping.hpp"

namespace sim {

struct Scenario;
struct SafetyFunction;
struct MustReact;

struct FromReduced {
    bool asked = false;  ///< the function's distance says so
    std::string outer;   ///< name of the function that slows the machine down before
    std::string why;     ///< asked, and not so: half a sentence; empty if it counts

    std::int64_t um_s = 0;                 ///< the speed it counts from: the reduced one and what its monitor lets pass
    std::optional<Duration> slowed;        ///< worst time of the outer function to its reduced speed
    std::optional<Length> way;             ///< between both guards, the shortest
    std::optional<Length> way_needed;      ///< for that time, by the outer guard's own rule of ISO 13855
    std::optional<Duration> stopping;      ///< from the output command at `um_s`; nothing if it may not be counted
    std::vector<StoppingPart> stops = {};  ///< the same, reaction by reaction

    [[nodiscard]] bool counts() const { return asked && why.empty(); }
};

/// Of a demand of that safeguard, which must exist. The conditions: the outer function slows the same machine down in
/// every mode in which this one is asked, to a monitored reduced speed that ends its hazard; each of its guards has a
/// distance at hand, and the way from there to this guard is at least what ISO 13855 asks in its worst time: K * T and
/// the intrusion C of the outer guard. That time is by the settings, or that of the monitor where the drive does not
/// slow down. No signal of its guards may be muted, and the full speed may return by itself only for guards that sense
/// presence all the time.
FromReduced from_reduced(const Scenario& scenario, const SafetyFunction& function, const MustReact& must,
                         const std::string& safeguard);

/// `counts from 130 mm/s: "opening the gate" has slowed the rollers down within 362 ms ...`, or why not.
std::string in_words(const FromReduced& from);

/// The distance of that guard: the function's own, else that of the scenario.
std::optional<GuardDistance> distance_of_guard(const Scenario& scenario, const SafetyFunction& function,
                                               const std::string& safeguard);

}  // namespace sim
