#pragma once
// How an operator presses a button.
#include "proto/time.hpp"

namespace sim {

/// Common practice: a button is held about so long.
inline constexpr proto::Duration press_lasts = proto::milliseconds(200);
/// From a request until somebody who does nothing else acknowledges it.
inline constexpr proto::Duration calm_press_after = proto::milliseconds(50);

}  // namespace sim
