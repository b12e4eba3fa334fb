#pragma once
// Why an act at a desk had no effect: of which kind, in words, and what it is about, so that whoever shows it can offer
// the act that mends it.
#include <cstdint>
#include <optional>
#include <string>
#include <utility>

#include "proto/time.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {

enum class DeskNo : std::uint8_t {
    no_such_name,           ///< a guard, link, machine or mode that the bench does not have
    so_already,             ///< it is as was asked for
    least_hold,             ///< a guard let go stays interrupted until then
    held_by_file,           ///< a demand of the file interrupts the guard
    reset_too_early,        ///< the guard itself is still interrupted
    reset_waits,            ///< another guard of its reset is interrupted, or both its channels must open
    no_machine,             ///< the file has none
    which_machine,          ///< it has several, and none was named
    emergency_stop,         ///< the machine's own, which latches, is pressed
    link_not_running,       ///< of the machine that does not start
    stop_asked_for,         ///< by signals of the machine that does not start
    end_without_power,      ///< so nothing more can fail there
    end_stands_still,       ///< likewise
    same_fault_there,       ///< another one of that kind has not ended there
    fault_impossible,       ///< not with that link, way or end
    drift_of_shared_clock,  ///< a controller of several links
    too_many,               ///< acts, faults or hours for one run
};
inline constexpr std::size_t desk_no_count = static_cast<std::size_t>(DeskNo::too_many) + 1;

struct DeskRefused {
    DeskNo kind;
    std::string words;
    std::string about = {};                    ///< the guard, machine or end that it is about; empty: none
    std::string link = {};                     ///< of that end or machine
    std::optional<proto::Instant> until = {};  ///< when it is over by itself, where that is known
    std::optional<End> end = {};
};
/// Nothing: the act had its effect.
using DeskRefusal = std::optional<DeskRefused>;

}  // namespace sim
