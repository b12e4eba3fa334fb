#pragma once
// Odds by walks of the reduced link, counted or by splitting: for what no chain describes, such as a wait behind other
// traffic, telegrams that overtake, delays in blocks and limits on the age of a telegram.
#include "sim/odds/trip_odds.hpp"

namespace sim {

/// With an interval of 95 %. A clock that is set anew at each start is taken to be set as badly as a start allows.
TripOdds walked_odds(const LinkModel& link, const OddsEffort& effort);

}  // namespace sim
