#pragma once
// Scenarios put together in code, for tests of whole rehearsals: a tilting table for glass panes with a curtain at the
// device and a rope pull at the controller. Every value is of our own making.
#include <cstdint>
#include <string>
#include <vector>

#include "sim/scenario/scenario.hpp"

namespace tests {

/// What the telegrams of a link carry.
enum class Carries : std::uint8_t {
    everything,         ///< addresses and number carried, one copy
    two_copies,         ///< the same twice, the second inverted
    implied_addresses,  ///< the addresses are only under the CRC
    implied_number,     ///< the number is only under the CRC
    feedback,           ///< everything and the fed-back number (streaming only)
    time_stamp,         ///< everything and two time stamps (streaming only)
    no_addresses,       ///< neither carried nor covered
};
std::string_view name_of(Carries what);
proto::Profile profile_of(Carries what);

/// Cycle and scan 10 ms, watchdogs 45 ms, one way 1 ms, first device scan at 3 ms, reaction trip, 2 s, required 200 ms
/// each way. Both safeguards free, the operator acknowledges 0.1 s after a request and starts the machine 50 ms after
/// the link runs. A neighbour link stands by.
sim::Scenario polled_link(Carries what = Carries::everything);
/// The same in streaming, no telegram may be missing.
sim::Scenario streaming_link(Carries what = Carries::everything);

/// Changes the settings of both ends alike.
template <class Change>
void both_ends(sim::Scenario& scenario, Change change) {
    change(scenario.controller.link);
    change(scenario.device.link);
}
void set_watchdogs(sim::Scenario& scenario, proto::Duration controller, proto::Duration device);
void set_delay(sim::Scenario& scenario, proto::Duration one_way);
/// After a change of the typed bits: which bits are in use at each end.
void use_typed_bits(sim::Scenario& scenario);

/// A fault of that way that begins at `at`, one telegram to the device.
sim::Fault fault_of(sim::FaultWay way, proto::Duration at = proto::seconds(1));
/// The ways in which a fault acts.
enum class Ways : std::uint8_t { out, back, both };
sim::Fault on(sim::Fault fault, Ways ways);
sim::Fault times(sim::Fault fault, std::uint64_t times);
sim::Fault lasting(sim::Fault fault, proto::Duration time);

/// A demand at `at`, held no longer than the rules ask for.
sim::Demand demand_of(const std::string& safeguard, proto::Duration at);

/// Every file with a scenario of one link that ships, sorted; and those with several.
std::vector<std::string> shipped_scenarios(const std::string& source_dir);
std::vector<std::string> shipped_cells(const std::string& source_dir);

}  // namespace tests
