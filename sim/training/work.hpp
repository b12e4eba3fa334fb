#pragma once
// What an action card is at the plant: where it is done, and what it does there. Which of them are right a drill says.
#include <array>
#include <cstdint>
#include <string_view>

namespace sim {

/// Where people do something.
enum class WorkPlace : std::uint8_t { outside, controller, io, way, guard, machine, office };
/// In that order, as files and pages use them.
inline constexpr std::array<std::string_view, 7> work_place_words{"outside", "controller", "io",    "way",
                                                                  "guard",   "machine",    "office"};
constexpr std::string_view name_of(WorkPlace place) { return work_place_words[static_cast<std::size_t>(place)]; }

/// What it does at the plant.
enum class Does : std::uint8_t {
    talk,              ///< nothing that a plant shows: telling, calling, handing over, waiting
    lock,              ///< isolates the machines, locks them, and tries to start them
    stop,              ///< presses the emergency stop, which latches, and hangs a tag on it
    mend,              ///< puts the cause right, where it is the one that this card mends
    type_sheet,        ///< types at both ends what the link sheet says, and starts anew the one that differed
    clear,             ///< tools and people out, guards closed
    look,              ///< into the zone
    unlock,            ///< each lock is taken off by its owner
    reset,             ///< what is latched: guards, emergency stop
    acknowledge,       ///< presses the button once
    demand,            ///< every guard, one after the other
    start,             ///< presses start at the machine
    watch,             ///< the first cycles, from outside
    stop_from_motion,  ///< demands one guard while the machine moves
    power_cycle,       ///< both ends off and on again
    restart_way,       ///< what carries the telegrams is off for a while, and begins again with empty memory
    replace_io,        ///< another one in its place, with the settings of its delivery
    type_other,        ///< types at the controller what the I/O has, so that they agree
    raise_watchdog,    ///< twice the time at both ends
    bridge,            ///< the guard's contact stays closed, whatever is in it
    hold_contact,      ///< the acknowledgement contact stays closed
};
/// In that order, as files use them.
inline constexpr std::array<std::string_view, 21> does_words{
    "talk",        "lock",        "stop",        "mend",       "type-from-sheet", "clear",  "look",
    "unlock",      "reset",       "acknowledge", "demand",     "start",           "watch",  "stop-from-motion",
    "power-cycle", "restart-way", "replace-io",  "type-other", "raise-watchdog",  "bridge", "hold-contact"};

/// What it came to.
enum class WorkEffect : std::uint8_t {
    none,     ///< nothing at the plant
    locked,   ///< locked, and the try to start was in vain
    stopped,  ///< the emergency stop is latched
    mended,
    nothing_wrong,    ///< looked at, and nothing was wrong there
    typed,            ///< an end has other settings now, and has started anew
    fitted,           ///< another I/O, with the address of its delivery
    nothing_differs,  ///< both ends have what the sheet says
    cleared,
    seen,        ///< nobody is in the zone, and no tool lies there
    tools_seen,  ///< tools lie in it
    unlocked,
    nothing_locked,
    reset,
    nothing_latched,
    acknowledged,   ///< the link runs
    not_asked,      ///< nothing asked to be acknowledged
    contact_stuck,  ///< the button was pressed, its contact does not change
    stopped_again,  ///< acknowledged, and not running a moment later
    tried,          ///< guards were demanded: GuardTried
    started,
    stopped_soon,      ///< it moved, and no more a moment later
    not_started,       ///< StartRefusal
    ran,               ///< the machine moved all the while
    link_fell,         ///< while it was watched an end stopped
    stood,             ///< the machine did not move
    stopped_by_guard,  ///< it came to rest
    ran_on,            ///< a guard was demanded, and it moves on
    power_cycled,
    bridged,
    held,
};
/// In that order, as pages use them.
inline constexpr std::array<std::string_view, 31> work_effect_words{
    "none",         "locked",           "stopped",         "mended",        "nothing-wrong",
    "typed",        "fitted",           "nothing-differs", "cleared",       "seen",
    "tools-seen",   "unlocked",         "nothing-locked",  "reset",         "nothing-latched",
    "acknowledged", "not-asked",        "contact-stuck",   "stopped-again", "tried",
    "started",      "stopped-soon",     "not-started",     "ran",           "link-fell",
    "stood",        "stopped-by-guard", "ran-on",          "power-cycled",  "bridged",
    "held"};
constexpr std::string_view name_of(WorkEffect effect) { return work_effect_words[static_cast<std::size_t>(effect)]; }

/// It was done, and changed nothing: what it should have done is still to do.
constexpr bool in_vain(WorkEffect effect) {
    using E = WorkEffect;
    return effect == E::nothing_locked || effect == E::nothing_latched || effect == E::not_asked ||
           effect == E::contact_stuck || effect == E::stopped_again || effect == E::not_started || effect == E::stood ||
           effect == E::link_fell || effect == E::tools_seen || effect == E::ran_on || effect == E::stopped_soon;
}

}  // namespace sim
