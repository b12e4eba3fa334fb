#pragma once
// Parts of cross_check(): at which end a difference is mended. What was meant decides, never which end is the
// controller, nor which value is the shorter one; and nothing is advised that the check itself would warn of.
#include <optional>
#include <string>

#include "sim/scenario/ends.hpp"
#include "sim/studies/cross_check.hpp"

namespace sim {

struct Scenario;

/// What a setting was meant to be; `value` as people read it, as that of the ends. `says`: who says so, "[link]".
struct MeantValue {
    std::optional<std::string> value = {};
    std::optional<TypedAddress> address = {};
    std::string says = {};
    std::string against = {};  ///< why it cannot be so; empty: nothing speaks against it
};

struct Mend {
    MendAt at = MendAt::design;
    std::string words;
};

/// Who says what was meant: "[link]", in a cell "its [[link]]"; or the file that lists are compared with. `table`:
/// which one, of a file with one link.
std::string who_says(const Scenario& scenario, const std::string& table);

/// Where `typed` is not as it was meant, and what to type there.
Mend mend_by(const Scenario& scenario, const TypedValues& typed, const MeantValue& meant);

/// "press controller and press I/O".
std::string ends_in_words(const Scenario& scenario, MendAt at);
/// Which of the ends are not as meant.
MendAt where_wrong(bool controller, bool device);

/// What was meant with the cycle or a watchdog, by [link]; not where the check would warn of it.
MeantValue meant_time(const Scenario& scenario, const std::optional<Duration>& meant);
/// The level that [link] states, or else the highest that a function asks of the link, if one of the ends has it.
MeantValue meant_level(const Scenario& scenario);

}  // namespace sim
