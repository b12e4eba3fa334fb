#pragma once
// The way back to service, in the order in which it is taught: out of the machine's way, mend, tools out, the zone seen
// from where it is reset, locks off by their owners, reset, acknowledge, demand each guard, restart, the first cycles
// watched, one stop from motion. Common practice; a reset where the zone is seen and a restart as an act of its own are
// in ISO 13849-1 and ISO 12100, a lock that only its owner takes off in ISO 14118 (all from memory).
#include <array>
#include <cstddef>
#include <string_view>

namespace sim {

inline constexpr std::array<std::string_view, 9> way_back{"tools-out",       "look-zone",   "locks-off",
                                                          "reset-guard",     "acknowledge", "demand-guards",
                                                          "restart-machine", "watch-cycle", "stop-once"};

/// 0 for what takes the machine out of the way, 1 for what mends, then the steps of way_back.
constexpr std::size_t rank_on_way_back(std::string_view id) {
    if (id == "lock-out" || id == "out-of-service") return 0;
    for (std::size_t i = 0; i < way_back.size(); ++i)
        if (way_back[i] == id) return 2 + i;
    return 1;
}

/// Left out, the machine just does not start: no harm is done.
constexpr bool only_keeps_it_standing(std::string_view id) {
    return id == "locks-off" || id == "reset-guard" || id == "acknowledge";
}

/// What brings the machine nearer to moving again.
constexpr bool lets_it_run_again(std::string_view id) {
    return id == "reset-guard" || id == "acknowledge" || id == "restart-machine";
}

}  // namespace sim
