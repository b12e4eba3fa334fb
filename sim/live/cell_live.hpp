#pragma once
// A whole cell over UDP with real timers: all its parts in one process, or one part alone. Parts are the controller,
// with an end of each link; the channel, which carries all links; and the device of each link.
//
// Each part has one socket. A datagram is the number of the link (from 0 in the order of the file) in one byte, in what
// the channel sends with 0x80 added once the run has begun, and then the safety telegram as it is, or nothing: a sign
// that the part is there. No link runs before the channel has heard of all parts.
#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "sim/drive/join_cell.hpp"
#include "sim/live/live.hpp"

namespace sim {

struct WholeCell;

struct CellPart {
    Part part = Part::controller;
    std::size_t link = 0;  ///< of a device
};

/// "controller", "channel", or the device's station.
std::string name_of(const WholeCell& cell, const CellPart& part);

/// The links that the part carries: of a device its own, else all.
std::vector<std::size_t> links_of(const WholeCell& cell, const CellPart& part);

/// All parts on loopback, a socket each, in one thread. Takes the cell's duration and a little more. The cell's faults
/// have no condition, and there are no values.
proto::Result<CellRecords, LiveError> run_live_cell(const WholeCell& cell, std::uint64_t seed,
                                                    const LiveOptions& options);

struct CellPartOptions {
    CellPart part;
    Address listen;
    std::vector<Address> peers;          ///< an end: the channel; the channel: the controller, then each link's device
    std::vector<PartJournal*> journals;  ///< one for each link that it carries; empty: all is kept in memory
};

struct CellPartRan {
    std::vector<PartRecord> records;  ///< of each link that it carries; with journals, what these have not
    bool stopped = false;             ///< before its run was over
};

/// One part in this process; it waits for its peers, in any order.
proto::Result<CellPartRan, LiveError> run_cell_part(const WholeCell& cell, std::uint64_t seed,
                                                    const CellPartOptions& part, const LiveOptions& options);

/// Every duration of the cell times `factor`; a distance becomes the time that it leaves. Requires that no distance is
/// of one safeguard among several, or counts from reduced speed.
WholeCell slowed(WholeCell cell, std::int64_t factor);

/// See those of one link.
Duration lateness_allowed(const WholeCell& cell);

}  // namespace sim
