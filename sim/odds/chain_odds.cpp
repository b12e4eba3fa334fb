#include "sim/odds/chain_odds.hpp"

namespace sim {

std::string_view name_of(StopCause cause) {
    switch (cause) {
        case StopCause::controller_watchdog: return "watchdog of the controller";
        case StopCause::device_watchdog: return "watchdog of the device";
        case StopCause::bent_to_device: return "flipped bits on the way out";
        case StopCause::bent_to_controller: return "flipped bits on the way back";
        case StopCause::missing_to_device: return "numbers missing on the way out";
        case StopCause::missing_to_controller: return "numbers missing on the way back";
        case StopCause::order_to_device: return "overtaken telegrams on the way out";
        case StopCause::order_to_controller: return "overtaken telegrams on the way back";
        case StopCause::age_to_device: return "telegrams too old on the way out";
        case StopCause::age_to_controller: return "telegrams too old on the way back";
    }
    return "?";
}

}  // namespace sim
