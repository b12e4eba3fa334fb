#pragma once
// Parts of cross_check(): at which end a difference is mended. What was meant decides, never which end is the
// controller, nor which value is the shorter one; and nothing is advised that the check itself would warn of.
#include <array>
#include <initializer_list>
#include <optional>
#include <string>

#include "sim/scenario/ends.hpp"
#include "sim/scenario/meant.hpp"
#include "sim/studies/cross_check.hpp"

namespace sim {

struct Scenario;

/// What a setting was meant to be; `value` as people read it, as that of the ends. `says`: who says so, "[link]".
struct MeantValue {
    std::optional<std::string> value = {};
    std::optional<TypedAddress> address = {};
    std::string says = {};
    std::string against = {};  ///< why it cannot be so; empty: nothing speaks against it
    std::string hint = {};     ///< where nothing says what was meant: which of the two cannot be, and why
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

/// What was meant with the cycle or a watchdog, which is `which` of Meant, all of them the same; not where the check
/// would warn of it. `typed`: at the controller and at the device, which differ.
MeantValue meant_time(const Scenario& scenario, std::initializer_list<std::optional<Duration> Meant::*> which,
                      std::array<Duration, 2> typed);
/// The level that [link] states, or else the highest that a function asks of the link, if one of the ends has it.
MeantValue meant_level(const Scenario& scenario);

}  // namespace sim
