#pragma once
// How an operator presses a button.
#include "proto/time.hpp"
#include "sim/cell/agenda.hpp"

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

}  // namespace sim
