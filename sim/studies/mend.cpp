#include "sim/studies/mend.hpp"

#include <algorithm>
#include <utility>
#include <vector>

#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/studies/running_check.hpp"

namespace sim {
namespace {

/// What decides whether the link runs and how long it takes, the same at both ends.
struct Times {
    Duration cycle{}, controller_watchdog{}, device_watchdog{};
};

Scenario timed(const Scenario& scenario, const Times& times) {
    Scenario s = scenario;
    proto::LinkSettings &c = s.controller.link, &d = s.device.link;
    const bool own_scan = d.scan != d.cycle;
    c.cycle = d.cycle = c.scan = times.cycle;
    if (!own_scan) d.scan = times.cycle;
    c.watchdog = d.peer_watchdog = times.controller_watchdog;
    d.watchdog = c.peer_watchdog = times.device_watchdog;
    return s;
}

/// What it may be: as meant, else as typed at either end.
std::vector<Duration> candidates(const std::optional<Duration>& meant, Duration at_controller, Duration at_device) {
    if (meant) return {*meant};
    if (at_controller == at_device) return {at_controller};
    return {at_controller, at_device};
}

/// What speaks against the times that were meant, whatever those are of which nothing says it; empty if nothing does.
std::string against_times(const Scenario& s) {
    const proto::LinkSettings &c = s.controller.link, &d = s.device.link;
    std::string first;
    for (const Duration cycle : candidates(s.meant.cycle, c.cycle, d.cycle))
        for (const Duration watchdog : candidates(s.meant.controller_watchdog, c.watchdog, d.peer_watchdog))
            for (const Duration other : candidates(s.meant.device_watchdog, c.peer_watchdog, d.watchdog)) {
                const std::vector<std::string> all = objections_to_times(timed(s, {cycle, watchdog, other}));
                if (all.empty()) return "";
                if (first.empty()) first = all.front();
            }
    return first;
}

/// The function with the highest level; nullptr where none states one.
const SafetyFunction* function_with_highest_level(const Scenario& scenario) {
    const SafetyFunction* highest = nullptr;
    for (const SafetyFunction& function : scenario.functions)
        if (function.level && (highest == nullptr || highest->level->sil() < function.level->sil()))
            highest = &function;
    return highest;
}

bool is_meant(const TypedValues& typed, const MeantValue& meant, End end) {
    const bool controller = end == End::controller;
    const auto& addresses = controller ? typed.controller_addresses : typed.device_addresses;
    if (meant.address && addresses.size() == 1) return addresses.front().value == meant.address->value;
    return (controller ? typed.controller : typed.device) == *meant.value;
}

}  // namespace

bool TypedValues::same() const {
    if (controller_addresses.empty()) return controller == device;
    return std::ranges::equal(controller_addresses, device_addresses, {}, &TypedAddress::value, &TypedAddress::value);
}

std::string_view name_of(MendAt at) {
    switch (at) {
        case MendAt::design: return "";
        case MendAt::controller: return "controller";
        case MendAt::device: return "device";
        case MendAt::both: return "both";
    }
    return "";
}

std::string who_says(const Scenario& scenario, const std::string& table) {
    if (!scenario.meant.file.empty()) return scenario.meant.file;
    return scenario.cell_link.empty() ? "[" + table + "]"
                                      : "its " + (table == "link" ? "[[link]]" : "[link." + table + "]");
}

MendAt where_wrong(bool controller, bool device) {
    if (controller && device) return MendAt::both;
    return controller ? MendAt::controller : device ? MendAt::device : MendAt::design;
}

std::string ends_in_words(const Scenario& scenario, MendAt at) {
    if (at == MendAt::both) return scenario.controller.name + " and " + scenario.device.name;
    return at == MendAt::controller ? scenario.controller.name : scenario.device.name;
}

Mend mend_by(const Scenario& scenario, const TypedValues& typed, const MeantValue& meant) {
    const std::string either = typed.controller + " or " + typed.device;
    if (!meant.value) return {MendAt::design, "see the design which is meant, " + either + meant.hint};
    if (!meant.against.empty())
        return {MendAt::design, "see the design: " + meant.says + " has " + *meant.value + ", but " + meant.against};
    const MendAt at = where_wrong(!is_meant(typed, meant, End::controller), !is_meant(typed, meant, End::device));
    if (at == MendAt::design) return {at, "see the design which is meant, " + either};
    return {at, ends_in_words(scenario, at) + ": " + *meant.value + ", as " + meant.says + " has it"};
}

MeantValue meant_time(const Scenario& scenario, std::initializer_list<std::optional<Duration> Meant::*> which,
                      std::array<Duration, 2> typed) {
    MeantValue found;
    if (const std::optional<Duration>& meant = scenario.meant.**which.begin()) {
        found.value = written(*meant);
        found.says = who_says(scenario, "link");
        if (const std::string against = against_times(scenario); !against.empty()) found.against = "then " + against;
        return found;
    }
    for (const Duration one : typed) {
        Scenario as_if = scenario;
        for (const auto member : which) as_if.meant.*member = one;
        if (const std::string against = against_times(as_if); !against.empty())
            found.hint += "; with " + written(one) + " " + against.substr(0, against.find("; write"));
    }
    return found;
}

MeantValue meant_level(const Scenario& scenario) {
    const SafetyFunction* const asks = function_with_highest_level(scenario);
    const unsigned asked = asks != nullptr ? asks->level->sil() : 0;
    MeantValue found;
    if (const std::optional<unsigned>& typed = scenario.meant.claimed_level) {
        found.value = std::to_string(*typed);
        found.says = who_says(scenario, "link");
        if (asked > *typed) found.against = "\"" + asks->name + "\" asks for SIL " + std::to_string(asked);
        return found;
    }
    const unsigned at_controller = scenario.controller.link.claimed_level,
                   at_device = scenario.device.link.claimed_level;
    if (asked == 0 || (at_controller != asked && at_device != asked)) return found;
    found.value = std::to_string(asked);
    found.says = "\"" + asks->name + "\"";
    return found;
}

}  // namespace sim
