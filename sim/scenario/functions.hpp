#pragma once
// What each guard must do, as the risk assessment states it: the safety functions of the machine, by which check, run,
// response and the papers judge.
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sim/scenario/distance_case.hpp"
#include "sim/scenario/ends.hpp"
#include "sim/scenario/plant.hpp"

namespace sim {

/// A claim for a safety function: SIL 1 to 3 (IEC 62061) or PL a to e (ISO 13849-1).
struct FunctionLevel {
    enum class Scale : std::uint8_t { sil, pl };
    Scale scale = Scale::sil;
    unsigned step = 1;  ///< SIL 1 to 3; PL a to e as 1 to 5
    /// The SIL that a link must claim for it, 0 for PL a, which has none (IEC 62061 and ISO 13849-1 side by side, from
    /// memory: b and c as SIL 1, d as SIL 2, e as SIL 3).
    [[nodiscard]] unsigned sil() const {
        if (scale == Scale::sil) return step;
        constexpr unsigned by_pl[] = {0, 1, 1, 2, 3};
        return by_pl[step - 1];
    }
};
/// "SIL 2", "PL d".
std::string written(const FunctionLevel& level);

/// What lets speed return once a demand is over. A failure of the link always takes a new start.
enum class Returns : std::uint8_t {
    after_start,  ///< only a deliberate start of the machine
    after_reset,  ///< from reduced speed the reset brings it back; from standstill it only makes ready for a start
    by_itself     ///< from reduced speed only
};
std::string_view name_of(Returns returns);

/// One thing that a function asks of one machine.
struct MustReact {
    std::string machine;
    StopCategory must = StopCategory::category_0;
    std::optional<Duration> within;  ///< from the demand to the end of the hazard, sensor and stop included
    Place where;
};

struct SafetyFunction {
    std::string name;
    std::vector<std::string> safeguards;  ///< each of them, alone
    std::vector<MustReact> must;
    std::vector<std::string> in_mode = {};  ///< empty: in every one
    std::optional<FunctionLevel> level;
    Returns returns = Returns::after_start;
    bool reduced_speed_ends_hazard = false;  ///< else only standstill does
    std::optional<GuardDistance> distance;   ///< of each of its safeguards, unless it names one
    /// The distance counts from reduced speed: nobody comes there but past the guards of that function, which slows the
    /// machine down before; empty: from full speed. See FromReduced for when it does count.
    std::string slowed_by = {};
    Place where;
};

/// It is one of the function's safeguards.
bool names(const SafetyFunction& function, std::string_view safeguard);
/// It is a safeguard of some of them.
bool any_names(const std::vector<SafetyFunction>& functions, std::string_view safeguard);

struct Scenario;

/// A function of that safeguard gives its speed back only after a reset, so its signal stays 0 until then.
bool needs_reset(const Scenario& scenario, const std::string& safeguard);

}  // namespace sim
