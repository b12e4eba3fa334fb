#pragma once
// Who hears of a rehearsal besides the observer; what is missing hears nothing. Both must outlive it.
#include "sim/judge/telegram_trace.hpp"
#include "sim/judge/time_line.hpp"

namespace sim {

struct Witnesses {
    TelegramTrace* trace = nullptr;  ///< of what becomes of each telegram
    TimeLine* line = nullptr;        ///< of the changes of states, signals and the machine
};

}  // namespace sim
