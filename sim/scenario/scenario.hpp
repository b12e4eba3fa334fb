#pragma once
// A rehearsal as written down by a person: two ends as typed, the channel between them, the plant around them,
// what is to go wrong and what is expected. Each part lives in a header of its own; this one only gathers them.
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "proto/crc.hpp"
#include "proto/profile.hpp"
#include "sim/scenario/acts.hpp"
#include "sim/scenario/channel.hpp"
#include "sim/scenario/ends.hpp"
#include "sim/scenario/faults.hpp"
#include "sim/scenario/functions.hpp"
#include "sim/scenario/meant.hpp"
#include "sim/scenario/plant.hpp"
#include "sim/scenario/required.hpp"
#include "sim/scenario/values.hpp"

namespace sim {

struct Scenario {
    std::string file;  ///< as given
    std::string title;
    std::string shows;  ///< one or two sentences
    std::string plant;  ///< "veneer press"
    std::uint64_t seed = 1;
    Duration duration{};
    Duration device_phase{};  ///< of the device's scan against the controller's
    TypedEnd controller, device;
    Meant meant = {};
    ChannelSettings to_device, to_controller;
    std::optional<Neighbour> neighbour;
    std::vector<Safeguard> safeguards;
    std::vector<Signal> signals;
    std::vector<Mode> modes = {};
    Values values = {};  ///< in the payload, besides the bits of signals
    std::optional<Machine> machine;
    std::vector<SafetyFunction> functions = {};
    /// Of a link of a cell: those of machines at other links. Here only their resets count, which hold a guard's 0.
    std::vector<SafetyFunction> functions_elsewhere = {};
    Required required;
    std::optional<GuardDistance> distance = {};
    Stopping stopping = {};
    std::vector<OutsidePart> outside_parts = {};
    TripLimit trip_limit = {};
    /// Largest one-way delay outside faults, promised by whoever runs the network: a stream in which nobody measures
    /// the age of a value has a bound only with it.
    std::optional<Duration> declared_delay = {};
    std::vector<Fault> faults;
    std::vector<Demand> demands;
    std::vector<OperatorAct> operator_acts;
    /// Of a link of a cell: its segment, the same number at parts that one episode may disturb with it; 0: of no cell.
    unsigned segment = 0;
    std::string cell_link = {};           ///< of a link of a cell: its name
    std::string expect_verdict = "pass";  ///< "pass", "fail", "dangerous"
    std::string text = {};                ///< what was read, if `file` is one that nobody can read again
    // Made in code only, to look at measures one by one: no file can say these.
    proto::ProfileUse use = proto::ProfileUse::link;
    /// The integrity system of the non-safety traffic that masquerades; nothing: CRC-16/ARC.
    std::optional<proto::CrcSpec> other_traffic_crc = {};

    [[nodiscard]] const TypedEnd& end(End e) const { return e == End::controller ? controller : device; }
    /// The place of the safeguard of that name among `safeguards`; one past the last if there is none.
    [[nodiscard]] std::size_t place_of(std::string_view safeguard) const;
    /// How many ways of running are told apart: one where no mode is stated.
    [[nodiscard]] std::size_t mode_count() const { return modes.empty() ? 1 : modes.size(); }
};

}  // namespace sim
