#include "sim/training/drawn.hpp"

#include <algorithm>
#include <cctype>
#include <string_view>
#include <utility>

#include "sim/numeric/random.hpp"
#include "sim/training/drill_check.hpp"

namespace sim {
namespace {

constexpr std::uint64_t later_max_ms = 6000, earlier_minutes_max = 180;
/// Added to every address alike, above their low bits: what differs between two of them goes on differing so.
constexpr std::uint64_t address_steps_max = 0x7F;
constexpr std::uint32_t address_step = 0x100;

/// Of all links.
template <class Act>
void each_link(Scenario& alone, std::optional<WholeCell>& cell, Act act) {
    act(alone);
    if (!cell) return;
    for (CellLink& link : cell->links) act(link.alone);
}

/// How many such steps every address has room for.
std::uint64_t address_steps(Drill& drill) {
    std::uint64_t highest = 0, largest = ~std::uint64_t{0};
    each_link(drill.scenario, drill.cell, [&](const Scenario& scenario) {
        for (const TypedEnd* const end : {&scenario.controller, &scenario.device})
            highest = std::max<std::uint64_t>({highest, end->link.own_address, end->link.peer_address});
        if (scenario.neighbour)
            highest = std::max<std::uint64_t>(
                {highest, scenario.neighbour->controller_address, scenario.neighbour->device_address});
        largest = std::min(largest, (std::uint64_t{1} << scenario.controller.link.profile.address.bits) - 1);
    });
    return highest < largest ? std::min((largest - highest) / address_step, address_steps_max) : 0;
}

void move_addresses(Scenario& scenario, std::uint32_t by) {
    for (TypedEnd* const end : {&scenario.controller, &scenario.device}) {
        end->link.own_address += by;
        end->link.peer_address += by;
    }
    if (!scenario.neighbour) return;
    scenario.neighbour->controller_address += by;
    scenario.neighbour->device_address += by;
}

void move_troubles(Scenario& scenario, Duration by) {
    for (Fault& fault : scenario.faults)
        if (fault.at && *fault.at > Duration{}) fault.at = *fault.at + by;
    for (Demand& demand : scenario.demands) demand.at = demand.at + by;
    for (OperatorAct& act : scenario.operator_acts)
        if (act.event == OperatorAct::Event::time && act.act != OperatorAct::Act::start_machine &&
            act.act != OperatorAct::Act::hold_acknowledge)
            act.after = act.after + by;
}

/// What happens after the machine was started comes later.
void move_troubles(Drill& drill, Duration by) {
    each_link(drill.scenario, drill.cell, [&](Scenario& scenario) { move_troubles(scenario, by); });
    drill.comes_after = drill.comes_after + by;
}

/// "14:31", "35 s", "3 min" and the like: what a story says of hours and times stays true.
bool names_a_time(const std::string& text) {
    const auto digit = [&](std::size_t i) {
        return i < text.size() && std::isdigit(static_cast<unsigned char>(text[i])) != 0;
    };
    for (std::size_t i = 1; i < text.size(); ++i) {
        if (!digit(i - 1)) continue;
        const std::string_view rest = std::string_view(text).substr(i);
        for (const std::string_view unit : {" s", " min", " h"}) {
            const bool whole =
                rest.size() == unit.size() ||
                (rest.size() > unit.size() && std::isalpha(static_cast<unsigned char>(rest[unit.size()])) == 0);
            if (whole && rest.starts_with(unit)) return true;
        }
        if (rest.starts_with(":") && digit(i + 1)) return true;
    }
    return false;
}

/// "14:31:30" so many minutes earlier, over midnight if need be. Anything else stays as it is.
std::string earlier(const std::string& clock, std::uint64_t minutes) {
    if (clock.size() != 8) return clock;
    const auto two = [&](std::size_t at) {
        return static_cast<unsigned>((clock[at] - '0') * 10 + (clock[at + 1] - '0'));
    };
    constexpr unsigned day = 24 * 60;
    const unsigned at = (two(0) * 60 + two(3) + day - static_cast<unsigned>(minutes)) % day;
    const auto digits = [](unsigned value) { return (value < 10 ? "0" : "") + std::to_string(value); };
    return digits(at / 60) + ":" + digits(at % 60) + clock.substr(5);
}

Drill drawn(const Drill& written, const Random& draws) {
    const std::uint64_t which = draws.below(0, written.variants.size() + 1);
    Drill drill = which == 0 ? written : written.variants[which - 1];
    drill.variants.clear();
    drill.scenario.seed = draws.at(1) >> 1;
    const auto by = address_step * static_cast<std::uint32_t>(draws.below(2, address_steps(drill) + 1));
    const auto move = [&](Scenario& scenario) { move_addresses(scenario, by); };
    each_link(drill.scenario, drill.cell, move);
    each_link(drill.link_sheet, drill.cell_sheet, move);
    if (!names_a_time(drill.story)) {
        move_troubles(drill, proto::milliseconds(static_cast<std::int64_t>(draws.below(3, later_max_ms + 1))));
        // one that chose its hour has a reason
        if (drill.clock == clock_by_default)
            drill.clock = earlier(drill.clock, draws.below(4, earlier_minutes_max + 1));
    }
    return drill;
}

}  // namespace

DrawnDrill drawn_for_exam(const Drill& drill, std::uint64_t seed) {
    for (unsigned i = 0; i < draws_max; ++i) {
        Drill one = drawn(drill, Random(seed, Concern::exam, 1 + i));
        std::unique_ptr<Bench> bench = bench_of(one, one.scenario.seed);
        if (broken_promises(one, *bench).empty()) return {std::move(one), std::move(bench)};
    }
    Drill one = drill;
    one.variants.clear();
    std::unique_ptr<Bench> bench = bench_of(one, one.scenario.seed);
    return {std::move(one), std::move(bench)};
}

}  // namespace sim
