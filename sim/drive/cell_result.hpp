#pragma once
// What a rehearsal of several links found: each link's own result, and what only all of them together show.
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "sim/judge/result.hpp"
#include "sim/judge/time_line.hpp"

namespace sim {

/// What a machine came to after something struck a link that it depends on and that is not its own.
struct FarStop {
    std::size_t link = 0;          ///< that was struck
    std::size_t injection = 0;     ///< in that link's result
    std::size_t machine_link = 0;  ///< the machine's own
    bool moved = false;            ///< the machine, when it struck
    bool stopping = false;         ///< it was on its way to a standstill already, and no other stop was commanded since
    bool required = true;          ///< by the wiring, that link's failure alone must stop it, whatever the mode
    std::optional<Duration> reduced, standstill;  ///< from the injection
    std::optional<Duration> allowed;              ///< nothing where none can be stated
    bool within_limit = true;                     ///< it was not asked to stop, or did in time
    bool ran_on = false;                          ///< it was to stop, and with all the time given to it did not
    std::string why;
};

/// A demand as one machine answered it: a row of the guard table.
struct CellDemand {
    std::size_t machine_link = 0;
    std::size_t result = 0;  ///< index in that link's demands
    struct Hop {
        std::size_t link = 0;
        DemandHop hop;
    };
    std::vector<Hop> hops;          ///< in the order of the way
    std::optional<Duration> bound;  ///< from the contact to the output, by the settings; nothing if there is none
};

/// A function over all its machines.
struct CellFunction {
    std::size_t function = 0;  ///< index in WholeCell::functions
    Met met = Met::not_shown;
    std::optional<Duration> worst, within;
    std::vector<std::string> never_demanded;
    std::string why;
};

struct CellResult {
    std::uint64_t seed = 0;
    RunVerdict verdict = RunVerdict::pass;
    bool as_expected = true;
    std::uint64_t digest = 0;  ///< of the links' digests
    std::uint64_t cycles = 0;  ///< scans of the controller for any link
    std::vector<RunResult> links;
    std::vector<FarStop> far_stops;   ///< by link and injection
    std::vector<CellDemand> demands;  ///< in the order of their contacts
    std::vector<CellFunction> functions;
    std::vector<std::string> remarks;
    std::uint64_t twin_trips = 0;  ///< stops for nothing without faults
    bool recovered = true;         ///< of a live run: as the same cell does in virtual time
    std::string why_not_recovered;
    bool live = false;
    std::int64_t time_scale = 1;  ///< live: every duration times this
    Lateness lateness;            ///< live: of all parts
    Duration lateness_allowed{};  ///< live: later than this, the run is not judged
};

}  // namespace sim
