#pragma once
// Cells put together in code: a remote I/O with a guard, one controller, a drive. Every value is of our own making.
#include <cstdint>
#include <functional>

#include "sim/scenario/whole_cell.hpp"

namespace tests {

/// One of its links: what both ends are set to.
struct LinkOfChain {
    proto::Exchange exchange = proto::Exchange::polled;
    bool stamped = false;  ///< in a stream: by time stamps, else by a declared delay
    proto::Duration cycle = proto::milliseconds(10), device_scan = proto::milliseconds(10), phase{};
    proto::Duration controller_watchdog = proto::milliseconds(45), device_watchdog = proto::milliseconds(45);
    proto::Duration delay_low = proto::milliseconds(1), delay_high = proto::milliseconds(1);  ///< each way
};

/// A guard at the device of link 0, over the controller to a machine at the device of link 1. It runs for `duration`,
/// nothing is demanded and nothing fails; complete_links() was called, and is to be called again after a change.
sim::WholeCell chain_of(const LinkOfChain& guard_link, const LinkOfChain& machine_link, proto::Duration duration);

/// Links that have nothing to do with each other, each with a guard at its device and a machine there.
sim::WholeCell separate_links(std::size_t count, proto::Duration duration);

/// A demand of the guard of a chain.
void demand(sim::WholeCell& cell, const char* safeguard, proto::Duration at, proto::Duration lasting);

}  // namespace tests
