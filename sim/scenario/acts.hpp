#pragma once
// What people do during a run: demands on safeguards, and what the operator does.
#include <cstdint>
#include <string>

#include "proto/time.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {

/// The contacts that a demand opens: both unless something is wrong with the safeguard.
enum class DemandChannel : std::uint8_t { both, a, b };

/// A demand on a safeguard.
struct Demand {
    std::string safeguard;
    Duration at{};
    Duration lasting{};
    Place where;
    DemandChannel channel = DemandChannel::both;
    bool elsewhere = false;  ///< of a link of a cell: the machines that it asks for are at other links
};

/// What the operator does, and on which event.
struct OperatorAct {
    enum class Event : std::uint8_t {
        acknowledgement_requested,
        link_running,  ///< both ends running (at start and after each acknowledgement)
        time,          ///< at `after` from the start of the run
    };
    enum class Act : std::uint8_t {
        acknowledge,
        hold_acknowledge,
        start_machine,
        reset,       ///< of a latched safeguard: it starts nothing (ISO 13850)
        hold_reset,  ///< its button is pressed and never let go: it is held, or stuck
        select_mode,
    };
    Event event = Event::acknowledgement_requested;
    Act act = Act::acknowledge;
    Duration after{};
    Place where;
    std::string safeguard = {};  ///< of a reset
    std::string mode = {};       ///< that is selected
    Duration held_for = {};      ///< a reset: from pressing its button until it is let go; 0: let go at once
};

}  // namespace sim
