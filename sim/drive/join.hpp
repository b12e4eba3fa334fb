#pragma once
// Joins what the three parts of a live link wrote down into one result. Parts may have run on different clocks: their
// records are brought together by the identity of the telegrams, never by the times on them.
#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "sim/capture/datagram.hpp"
#include "sim/drive/limits.hpp"
#include "sim/judge/event_log.hpp"
#include "sim/judge/part.hpp"
#include "sim/judge/result.hpp"
#include "sim/judge/witnesses.hpp"

namespace sim {

/// A part was not there: from its last sign of life to its being started anew, by its own clock.
struct Absence {
    Instant from{}, until{};
};

/// What one part brings.
struct PartRecord {
    EventLog log;
    std::vector<std::int64_t> lateness_ns;  ///< of each scan (channel: of each delivery)
    std::uint64_t scans = 0;
    EndShown shown;                 ///< at the end of the run (not for the channel)
    std::vector<Absence> absences;  ///< in order; what it wrote down before and after is all here
    // of the channel: what passed it
    std::vector<std::uint8_t> telegrams;  ///< bytes of what was offered and delivered, in the order of the log
    std::int64_t begun_ns = 0;            ///< when its run began: nanoseconds since 1970, by its computer's clock
    SocketAddress controller, channel, device;
    std::int64_t clock_ns = 0;  ///< when its run began by its computer's steady clock
    std::string boot;           ///< which start of which computer that clock counts from; empty: not known
};
using PartRecords = std::array<PartRecord, part_count>;  ///< by Part

/// Whether a record can be of that part of a run of that scenario: every number in it is one that the part could have
/// written. A record may come from another computer, or be damaged; join() takes only such ones.
bool can_be(const Scenario& scenario, Part part, const PartRecord& record);

/// The observer hears all records in the order of the channel's clock. Nothing if the parts do not belong together:
/// too few telegrams of one are known to the others. The trace hears what passed the channel, as far as its bytes are
/// known; what an end concluded is told with each telegram, though it came later. Which parts were not there all the
/// time stands in the result. An end that was away was without power, which the scenario must list as faults, see
/// with_restarts(). Where the channel was away, or what a part did before is not recorded, the result is no verdict.
std::optional<RunResult> join(const Scenario& scenario, std::uint64_t seed, const ScenarioLimits& limits,
                              const PartRecords& parts, const Witnesses& witnesses = {});

}  // namespace sim
