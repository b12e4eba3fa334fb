#pragma once
// The words of the acceptance test's rows: what to do, what each end must show, what the machine must do.
#include <set>
#include <string>
#include <vector>

#include "sim/scenario/scenario.hpp"
#include "sim/studies/acceptance_study.hpp"

namespace tools {

/// "No good telegram in time", several joined by ", or: "; empty for none.
std::string words_for(const std::set<proto::Cause>& causes);

/// What falls at an end when those safeguards are demanded: their inputs, what it sends, what it receives; "flap 0,
/// closed sent 0". Empty where nothing does. `contact`: of two, "contact a".
std::string falls_at(const sim::Scenario& scenario, const std::vector<std::size_t>& safeguards, sim::End end,
                     const std::string& contact = {});
/// The same for when it is free again: "flap 1, closed sent 1".
std::string rises_at(const sim::Scenario& scenario, std::size_t safeguard, sim::End end);

/// "stops by itself, category 0 (power off at once)", "slows down by itself to at most 120 mm/s ...", "outputs off".
std::string machine_must(const sim::Scenario& scenario, const std::optional<sim::AskedOfMachine>& asked);
/// "stops: rollers at standstill", "stops: rollers at 120 mm/s or less; a second one at standstill".
std::string clock_stops(const sim::Scenario& scenario, const std::optional<sim::AskedOfMachine>& asked);

/// What to do in an act, and how.
std::string deed_of(const sim::RehearsedAct& rehearsed);
/// What ends it: "flap free again and reset".
std::string undone_by(const sim::Scenario& scenario, const sim::AcceptanceAct& act);

/// Of a guard that is let go again after a demand.
struct FreeAgainWords {
    std::string act, machine;
};
FreeAgainWords free_again_words(const sim::Scenario& scenario, const sim::RehearsedCheck& check);
/// Of a broken wire.
struct WireWords {
    std::string act, contact, undo;
};
WireWords wire_words(const sim::Scenario& scenario, const sim::RehearsedCheck& check);

/// How a setting is mistyped at the device, and how that is undone.
struct MistypedWords {
    std::string act, undo;
};
MistypedWords mistyped_words(const sim::Scenario& scenario, const std::string& device, const sim::Mistyped& mistyped);

}  // namespace tools
