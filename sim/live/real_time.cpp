#include "sim/live/real_time.hpp"

#include <pthread.h>
#include <sched.h>
#include <sys/mman.h>

namespace sim {

void ask_for_real_time(const std::function<void(const std::string&)>& tell) {
    sched_param priority{};
    priority.sched_priority = 20;
    const bool scheduled = pthread_setschedparam(pthread_self(), SCHED_FIFO, &priority) == 0;
    const bool locked = mlockall(MCL_CURRENT | MCL_FUTURE) == 0;
    if (!tell) return;
    tell(scheduled ? "runs with real-time priority (SCHED_FIFO)" : "real-time priority was not permitted");
    tell(locked ? "its memory is locked" : "locking its memory was not permitted");
}

}  // namespace sim
