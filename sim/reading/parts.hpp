#pragma once
// Who reads which part of a scenario file. Each part says what is wrong with it to the section's Problems.
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sim/reading/section.hpp"
#include "sim/scenario/channel.hpp"

namespace sim {

struct ActionCard;
struct Drill;
struct Fault;
struct GuardDistance;
struct ModuleLayout;
struct Scenario;
struct Signal;

inline constexpr Duration run_longest = proto::seconds(std::int64_t{24} * 3600);
inline constexpr std::size_t names_max = 64;     ///< signals; safeguards
inline constexpr std::size_t faults_max = 4000;  ///< as many as a telegram's tag can name

/// The scenario that a file's tree holds, with the profiles that it names, as read_scenario().
proto::Result<Scenario, FileError> scenario_from(const Node& document, const std::string& path);
/// The same, as far as it can be read: only good if `problems`, which are of that file, are none.
Scenario scenario_from(const Node& document, const std::string& path, Problems& problems);

/// A drill and its variants, as far as they can be read: only good if `problems`, which are of that file, are none.
Drill drill_with_variants(const Node& document, const std::string& path, const std::vector<ActionCard>& cards,
                          Problems& problems);
/// The keys of a drill but for its plant, of which `links` are the names of several links, if it has them. Does not end
/// the section.
void read_drill_keys(Section& top, const std::vector<ActionCard>& cards, const std::vector<std::string>& links,
                     Drill& drill);
/// Action cards, likewise.
std::vector<ActionCard> action_cards_from(const Node& document, Problems& problems);

/// Bits, names and limits of a whole telegram profile.
void read_profile_keys(Section& top, const std::string& path, proto::Profile& profile);

/// Lengths and fields of a whole module.
void read_module_keys(Section& top, const std::string& path, ModuleLayout& layout);
/// "0.3", a byte and a bit of 0 to 7; nothing if it is none.
std::optional<BitPlace> bit_place_in(std::string_view text);

/// [controller.network] and [device.network], and the module, slot, firmware and checksum of both ends. `link`: the
/// table [link], if there is one. The finish() of the tables is the caller's.
void read_around(Section* link, Section& controller, Section& device, Scenario& scenario);

/// [link], [controller], [device] without their bits: both ends as typed.
void read_ends(Section& top, Scenario& scenario);
/// [bits], [controller.bits], [device.bits]; requires the signals to be read.
void read_bits(Section& top, Scenario& scenario);
/// [neighbour]; requires the ends to be read.
void read_neighbour(Section& top, Scenario& scenario);

void read_channel(Section& top, Scenario& scenario);
/// The distribution under `delay`, or nothing if it is not there.
std::optional<DelayShape> read_delay(Section& section);
/// A plain number, or nothing if it is not there; says so if it is none within the limits.
std::optional<double> number_in(Section& section, std::string_view key, double low, double high,
                                std::string_view example);

/// [[safeguard]], [[mode]], [[signal]], [machine], [[function]], [required], [[demand]], [[operator]].
void read_plant(Section& top, Scenario& scenario);

/// The link of the cell that a fault's telegrams come from or go to.
void read_other_link(Section& section, Fault& fault);
/// That there is one where the fault's way needs it, or a foreign neighbour, and that both links can begin alike.
void check_other_link(Section& section, const Scenario& scenario, const Fault& fault);

/// [distance], [stopping], [[part]], [limit]; requires read_plant().
void read_distance(Section& top, Scenario& scenario);

/// The keys of [distance] but for its safeguard, and that they make a distance; ends the section.
GuardDistance read_guard_distance(Section& section);

/// [[mode]].
void read_modes(Section& top, Scenario& scenario);
/// The key `in_mode`: names of modes.
void read_in_mode(Section& section, const Scenario& scenario, std::vector<std::string>& modes);
/// [[signal]]; requires safeguards and modes to be read.
void read_signals(Section& top, Scenario& scenario);
/// Why nothing may use the second bit of a pair by itself, behind its name.
std::string second_bit_alone(const Signal& second);
/// [[function]]; requires safeguards, signals and the machine to be read.
void read_functions(Section& top, Scenario& scenario);

/// [[value]] and where values lie in the payload at each end; requires read_ends(), read_plant() and read_bits().
void read_values(Section& top, Scenario& scenario);

/// What must be so for a fault of the way, and what ends it: `while`, `while_machine`, a span of travel, `until`.
void read_condition(Section& section, const Scenario& scenario, Fault& fault);
/// `while_machine` of a fault of an end; the other conditions are refused.
void read_end_condition(Section& section, const Scenario& scenario, Fault& fault);
/// A drive that fails is that of the machine, and has a speed to slow down to.
void check_drive(Section& section, const Scenario& scenario, const Fault& fault);
/// The run time `offset` after or before the first demand on a safeguard; nothing if no demand is named.
std::optional<Duration> begin_by_demand(Section& section, const Scenario& scenario);

/// [[fault]]; requires everything else to be read.
void read_faults(Section& top, Scenario& scenario);

/// Says so if `name`, of the n-th of its kind, is missing, too long or was given before.
template <class Things>
bool is_new_name(const Things& things, const std::string& name, Section& section) {
    if (section.wrong("name") || !section.has("name")) return true;
    for (const auto& thing : things) {
        if (thing.name != name) continue;
        section.say("name",
                    in_quotes(name) + " is taken (line " + std::to_string(thing.where.line) + "); write another name");
        return false;
    }
    return true;
}

}  // namespace sim
