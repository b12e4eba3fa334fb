// The conditions of a fault: what must be so for it to act, what ends it, and a begin written by a demand.
#include <algorithm>
#include <string>
#include <vector>

#include "sim/reading/parts.hpp"
#include "sim/scenario/nearest.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

using Zero = Section::Zero;
using Motion = FaultCondition::Motion;
using Event = FaultCondition::Event;
__extension__ using Wide = __int128;

constexpr std::string_view no_machine = "there is no machine; write a table [machine]";

/// A place on the machine's travel, as a length or, where it turns, as an angle.
std::optional<std::int64_t> read_position(Section& section, std::string_view key, const Machine& machine) {
    const Node* const typed = section.find(key);
    holds(section, key, KeyShape::quantity(angle_units(), false, 0));
    if (typed == nullptr) return std::nullopt;
    std::optional<std::int64_t> position;
    if (!typed->text.ends_with("deg")) {
        position = section.quantity(key, Zero::allowed, length_units(), "200 mm");
    } else if (machine.travel_angle_mdeg == 0) {
        section.say(key,
                    "is an angle, and the machine does not turn; write a length such as \"200 mm\", or "
                    "travel_angle = \"60 deg\" in [machine]");
    } else if (const auto angle = section.quantity(key, Zero::allowed, angle_units(), "30 deg")) {
        position = static_cast<std::int64_t>(Wide{*angle} * machine.travel_um / machine.travel_angle_mdeg);
    }
    if (position && *position > machine.travel_um) {
        section.say(key,
                    in_quotes(typed->text) + " is beyond the machine's travel; write less, or a longer travel there");
    }
    return position;
}

void read_span(Section& section, const Scenario& scenario, FaultCondition& when) {
    const bool from = section.has("from_position"), to = section.has("to_position");
    if (!from && !to) return;
    const std::string_view first = from ? "from_position" : "to_position";
    if (!from) section.missing("from_position", "\"0 mm\"");
    if (!to) section.missing("to_position", "\"200 mm\"");
    if (section.in_doubt({"machine"})) {
        for (const char* key : {"from_position", "to_position"}) static_cast<void>(section.has(key));
        return;
    }
    if (!scenario.machine) {
        section.say(first, std::string(no_machine));
        return;
    }
    if (scenario.machine->travel_um == 0) {
        section.say(first, "needs travel in [machine]; write travel = \"400 mm\" there");
        return;
    }
    const auto from_um = read_position(section, "from_position", *scenario.machine);
    const auto to_um = read_position(section, "to_position", *scenario.machine);
    if (!from_um || !to_um) return;
    if (*from_um >= *to_um) {
        section.say("to_position", "is not beyond from_position; write the end nearer to 0 as from_position");
    }
    when.position = FaultCondition::Span{*from_um, *to_um};
}

std::optional<Motion> read_motion(Section& section, const Scenario& scenario) {
    const auto motion = section.choice<Motion>("while_machine", {{"moving", Motion::moving}, {"still", Motion::still}});
    if (motion && !scenario.machine && !section.in_doubt({"machine"}))
        section.say("while_machine", std::string(no_machine));
    return motion;
}

}  // namespace

void read_condition(Section& section, const Scenario& scenario, Fault& fault) {
    using proto::State;
    FaultCondition& when = fault.when;
    when.state = section.choice<State>("while", {{"start-up", State::start_up},
                                                 {"running", State::running},
                                                 {"safe-state", State::safe_state},
                                                 {"awaiting-acknowledgement", State::awaiting_acknowledgement}});
    const auto state_of = section.choice<End>("while_end", {{"controller", End::controller}, {"device", End::device}});
    if (section.has("while") && !section.has("while_end")) {
        section.missing("while_end", R"("controller" or "device")");
    } else if (section.has("while_end") && !section.has("while")) {
        section.say("while_end", "says whose state while means; write while = \"running\", or take it away");
    }
    when.state_of = state_of.value_or(End::controller);
    when.machine = read_motion(section, scenario);
    read_span(section, scenario, when);
    when.until = section.choice<Event>("until", {{"safe-state", Event::safe_state},
                                                 {"acknowledged", Event::acknowledged},
                                                 {"machine-still", Event::machine_still}});
    if (when.until == Event::machine_still && !scenario.machine && !section.in_doubt({"machine"}))
        section.say("until", std::string(no_machine));
    if (when.until == Event::machine_still && when.machine == Motion::still) {
        section.say("until",
                    "ends the fault when the machine comes to stand, and until then it does not stand; write "
                    "while_machine = \"moving\", or take one away");
    }
    if (when.until == Event::safe_state && when.state == State::safe_state) {
        section.say("until",
                    "ends the fault with the safe state, which while waits for; write until = \"acknowledged\", or "
                    "take one away");
    }
}

void read_end_condition(Section& section, const Scenario& scenario, Fault& fault) {
    for (const char* key : {"while", "while_end", "from_position", "to_position", "until"}) {
        if (section.has(key)) section.say(key, "means nothing for a fault of an end; take it away");
    }
    fault.when.machine = read_motion(section, scenario);
    if (fault.when.machine == Motion::still) {
        section.say("while_machine",
                    "a fault of an end can wait until the machine moves, not until it stands; write \"moving\"");
    }
}

std::optional<Duration> begin_by_demand(Section& section, const Scenario& scenario) {
    const bool after = section.has("after_demand"), before = section.has("before_demand");
    const auto offset = section.duration("offset", Zero::allowed, run_longest);
    if (after == before) {
        if (after) {
            section.say("before_demand", "only one of after_demand and before_demand is possible; take one away");
        } else if (section.has("offset")) {
            section.say("offset",
                        "counts from a demand; write after_demand = \"front_curtain\", or take the offset away");
        }
        return std::nullopt;
    }
    const std::string_view key = after ? "after_demand" : "before_demand";
    const std::optional<std::string> name = section.text(key);
    if (!name) return std::nullopt;
    if (section.in_doubt({"demand", "safeguard", "duration"})) return std::nullopt;
    const Demand* first = nullptr;
    for (const Demand& demand : scenario.demands) {
        if (demand.safeguard == *name && (first == nullptr || demand.at < first->at)) first = &demand;
    }
    if (first == nullptr) {
        std::vector<std::string> names;
        for (const Safeguard& guard : scenario.safeguards) names.push_back(guard.name);
        const bool known = std::find(names.begin(), names.end(), *name) != names.end();
        section.say(key, known ? in_quotes(*name) + " is never demanded; write a [[demand]] on it"
                               : in_quotes(*name) + " is no safeguard" +
                                     (names.empty() ? "; write a [[safeguard]] and a [[demand]] on it first"
                                                    : "; " + offered_for(*name, names)));
        return std::nullopt;
    }
    const Duration by = offset.value_or(Duration{});
    if (before && by > first->at) {
        section.say("offset", "is before the start of the run; write \"" + written(first->at) + "\" or less");
        return std::nullopt;
    }
    const Duration begin = after ? first->at + by : first->at - by;
    if (begin >= scenario.duration) {
        section.say("offset", "leads to " + written(begin) +
                                  ", after the end of the run; write a shorter one, or "
                                  "lengthen duration");
        return std::nullopt;
    }
    return begin;
}

void check_drive(Section& section, const Scenario& scenario, const Fault& fault) {
    if (fault.way != FaultWay::drive_does_not_slow || section.wrong() || section.in_doubt({"machine"})) return;
    if (!scenario.machine || scenario.machine->reduced_speed_um_s == 0)
        return section.say("way", "needs a machine with a reduced speed; write reduced_speed in [machine]");
    if (fault.at_end != scenario.machine->at)
        section.say("at_end", std::string("is not where the machine is; write at_end = \"") +
                                  (scenario.machine->at == End::device ? "device" : "controller") + "\"");
}

}  // namespace sim
