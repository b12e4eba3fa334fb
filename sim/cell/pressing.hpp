#pragma once
// How an operator presses a button.
#include "proto/time.hpp"
#include "sim/cell/agenda.hpp"
#include "sim/plant/plant.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

/// Common practice: a button is held about so long.
inline constexpr proto::Duration press_lasts = proto::milliseconds(200);
/// From a request until somebody who does nothing else acknowledges it.
inline constexpr proto::Duration calm_press_after = proto::milliseconds(50);

/// The acknowledgement contact is pressed at `when` and let go again.
inline void note_press(Agenda& agenda, Instant when) {
    agenda.note(when, Agenda::Kind::press, 0);
    agenda.note(when + press_lasts, Agenda::Kind::let_go, 0);
}

/// The button of a reset is pressed at `when`, and let go once it was held for as long as the act says, or never.
inline void note_reset(Agenda& agenda, const Scenario& scenario, const OperatorAct& act, Instant when) {
    const std::size_t safeguard = scenario.place_of(act.safeguard);
    if (safeguard == scenario.safeguards.size()) return;
    if (act.act == OperatorAct::Act::reset && act.held_for == Duration{})
        return agenda.note(when, Agenda::Kind::safeguard_reset, safeguard);
    agenda.note(when, Agenda::Kind::reset_pressed, safeguard);
    if (act.act == OperatorAct::Act::reset) agenda.note(when + act.held_for, Agenda::Kind::reset_let_go, safeguard);
}

inline Plant::ResetAct reset_act_of(Agenda::Kind kind) {
    if (kind == Agenda::Kind::reset_pressed) return Plant::ResetAct::press;
    return kind == Agenda::Kind::reset_let_go ? Plant::ResetAct::let_go : Plant::ResetAct::press_and_let_go;
}

}  // namespace sim
