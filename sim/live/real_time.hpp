#pragma once
#include <functional>
#include <string>

namespace sim {

/// Asks for SCHED_FIFO and locked memory for this thread and process; tells in two lines what was permitted.
void ask_for_real_time(const std::function<void(const std::string&)>& tell);

}  // namespace sim
