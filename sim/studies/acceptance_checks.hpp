#pragma once
// The acts of an acceptance test that nobody times, rehearsed: which signals fall with a guard, what a broken wire
// does, what gives the speed back, what the acknowledgement does.
#include <cstdint>
#include <optional>

#include "sim/scenario/acts.hpp"
#include "sim/scenario/functions.hpp"
#include "sim/studies/acceptance.hpp"
#include "sim/studies/mistyped.hpp"

namespace sim {

struct Scenario;

/// The scenario that a sheet is of, and the plant that its rows are rehearsed on: as a rule both are one, else a plant
/// in which something is not as it was written down.
struct SheetOnPlant {
    const Scenario& sheet;
    const Scenario& plant;
    std::uint64_t seed = 1;
};

/// What gives the speed back after that safeguard: the slowest way that one of its functions asks for, else a start.
Returns returns_of(const Scenario& scenario, const std::string& safeguard);
/// Its signal stays 0 until somebody resets it.
bool is_reset(const Scenario& scenario, const Safeguard& safeguard);

/// The machine stands. The safeguard is demanded alone: just its signals fall, as they are sent and as they are used.
Passes rehearse_look(const SheetOnPlant& on, const Safeguard& safeguard);

/// The machine stands. The wire of one contact, or of the only one, is off: its signals fall, the machine refuses a
/// start or goes no faster than slowly. Of two contacts: the one alone is not forgotten before both were seen open
/// together.
Passes rehearse_wire(const SheetOnPlant& on, const Safeguard& safeguard, DemandChannel channel);

/// So long a reset is held before it is let go, which is when it counts.
inline constexpr Duration reset_held = proto::seconds(10);

/// From full speed the safeguard is demanded, let go again, reset where it asks for that (before, without effect, while
/// it is still demanded), and the machine started: speed returns as its functions say.
Passes rehearse_free_again(const SheetOnPlant& on, const AcceptanceAct& demand);

/// A setting mistyped at the device: the ends run nothing and the machine does not start, or, where the link cannot see
/// it, demanding each safeguard once finds it.
Passes rehearse_mistyped(const SheetOnPlant& on, const Mistyped& mistyped);

/// After a cut that is over: when nobody acknowledges, when the button has been held down since before the request, and
/// when it is pressed after the request.
struct AcknowledgementSeen {
    bool ran = false;                                     ///< before the cut; else nothing below was seen
    bool stays_without = false, stays_when_held = false;  ///< the link does not resume
    bool resumes_when_asked = false;
    bool machine_stays = false;  ///< as slow as the cut has made it, with the link running again, until it is started
};
AcknowledgementSeen rehearse_acknowledgement(const Scenario& plant, std::uint64_t seed);

}  // namespace sim
