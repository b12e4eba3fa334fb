// [distance], [stopping], [[part]] and [limit]: what turns a rehearsal's times into a place on the floor, and how often
// the plant may stop for nothing.
#include <algorithm>
#include <array>
#include <filesystem>
#include <fstream>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "sim/reading/parts.hpp"
#include "sim/reading/stopping_times.hpp"
#include "sim/scenario/nearest.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/timing/bounds.hpp"
#include "sim/timing/minimum_distance.hpp"

namespace sim {
namespace {

namespace fs = std::filesystem;
using Zero = Section::Zero;

/// "2010" or 2010.
std::optional<Edition> read_edition(Section& section) {
    const Node* node = section.find("edition");
    holds(section, "edition", KeyShape::choice(std::array{"2010", "2024"}));
    holds(section, "edition", KeyShape::integer(2010, 2024));
    if (node == nullptr) {
        section.missing("edition", R"("2010" or "2024")");
        return std::nullopt;
    }
    if (node->kind == Node::Kind::integer) {
        if (node->integer == 2010) return Edition::iso_13855_2010;
        if (node->integer == 2024) return Edition::iso_13855_2024;
        section.say("edition", std::to_string(node->integer) + R"( is no edition known here; write "2010" or "2024")");
        return std::nullopt;
    }
    return section.choice<Edition>("edition", {{"2010", Edition::iso_13855_2010}, {"2024", Edition::iso_13855_2024}});
}

}  // namespace

GuardDistance read_guard_distance(Section& section) {
    GuardDistance guard;
    guard.where = section.place();
    const auto edition = read_edition(section);
    const auto approach = section.choice<Approach>("case", {{"right-angle", Approach::right_angle},
                                                            {"multi-beam", Approach::multi_beam},
                                                            {"single-beam", Approach::single_beam},
                                                            {"parallel", Approach::parallel},
                                                            {"mat", Approach::mat},
                                                            {"two-hand", Approach::two_hand},
                                                            {"interlocked-guard", Approach::interlocked_guard}});
    if (!section.has("case")) section.missing("case", "\"right-angle\"");
    const auto length = [&](std::string_view key, Zero zero, std::string_view example) {
        return section.quantity(key, zero, length_units(), example);
    };
    guard.how = {.edition = edition.value_or(Edition::iso_13855_2010),
                 .approach = approach.value_or(Approach::mat),
                 .resolution_um = length("resolution", Zero::refused, "14 mm"),
                 .height_um = length("height", Zero::allowed, "300 mm"),
                 .reaching_over_um = length("reaching_over", Zero::allowed, "850 mm"),
                 .reaching_through_um = length("reaching_through", Zero::allowed, "0 mm"),
                 .supplement_um = length("supplement", Zero::allowed, "20 mm").value_or(0)};
    guard.there_um = length("there", Zero::refused, "520 mm");
    section.finish();
    if (section.wrong()) return guard;
    if (const auto fault = fault_in(guard.how)) {
        section.say(fault->key, fault->message);
    } else if (guard.there_um && micrometres(*guard.there_um) < fixed_part(guard.how)) {
        section.say("there", written(micrometres(*guard.there_um)) +
                                 " is too short for any response, however fast; write at least " +
                                 std::to_string(whole_mm_up(fixed_part(guard.how))) + " mm");
    }
    return guard;
}

namespace {

void read_guard(Section& top, Scenario& scenario) {
    std::optional<Section> section = top.table("distance");
    if (!section) return;
    const std::string safeguard = section->text("safeguard").value_or("");
    if (!section->has("safeguard")) section->missing("safeguard", "\"front_curtain\"");
    GuardDistance guard = read_guard_distance(*section);
    guard.safeguard = safeguard;
    if (section->wrong() || top.in_doubt({"safeguard.name"})) return;
    const bool known = std::any_of(scenario.safeguards.begin(), scenario.safeguards.end(),
                                   [&](const Safeguard& s) { return s.name == guard.safeguard; });
    if (!known) {
        std::vector<std::string> names;
        for (const Safeguard& s : scenario.safeguards) names.push_back(s.name);
        return section->say("safeguard", in_quotes(guard.safeguard) + " is no safeguard; " +
                                             (names.empty() ? std::string("write a [[safeguard]] first")
                                                            : offered_for(guard.safeguard, names)));
    }
    scenario.distance = std::move(guard);
}

void read_stopping(Section& top, Scenario& scenario) {
    std::optional<Section> section = top.table("stopping");
    if (!section) return;
    Stopping stopping;
    stopping.ramp_monitored = section->flag("ramp_monitored").value_or(false);
    stopping.standstill_monitored = section->flag("standstill_monitored").value_or(false);
    stopping.reduced_speed_ends_hazard = section->flag("reduced_speed_ends_hazard").value_or(false);
    stopping.power_off_after = section->duration("power_off_after", Zero::allowed, proto::seconds(600));
    const auto file = section->text("measured");
    section->finish();
    if (!scenario.machine && !top.in_doubt({"machine"}))
        section->say("measured", "there is no machine to stop; write a table [machine]");
    if (file) {
        stopping.measured_file = (fs::path(top.problems().file()).parent_path() / *file).lexically_normal().string();
        auto times = read_stopping_times(stopping.measured_file);
        if (!times) return top.problems().say(times.error());
        stopping.measured = std::move(times).value();
    }
    scenario.stopping = std::move(stopping);
}

void read_outside_parts(Section& top, Scenario& scenario) {
    for (Section& section : top.tables("part")) {
        OutsidePart part;
        part.name = section.text("name").value_or("");
        if (!section.has("name")) section.missing("name", "\"safety relay\"");
        const auto at = section.choice<OutsidePart::Place>(
            "at", {{"before-link", OutsidePart::Place::before_link}, {"after-link", OutsidePart::Place::after_link}});
        if (!section.has("at")) section.missing("at", R"("before-link" or "after-link")");
        part.at = at.value_or(OutsidePart::Place::before_link);
        const auto delay = section.duration("delay", Zero::allowed, proto::seconds(600));
        if (!section.has("delay")) section.missing("delay", "\"15 ms\"");
        part.delay = delay.value_or(Duration{});
        part.with_fault = section.duration("with_fault", Zero::allowed, proto::seconds(600)).value_or(part.delay);
        part.source = section.text("source").value_or("");
        if (!section.has("source")) section.missing("source", "\"data sheet, page 12\"");
        section.finish();
        if (section.wrong()) continue;
        if (part.name.empty() || part.name.size() > 60)
            section.say("name", in_quotes(part.name) + " has not 1 to 60 letters; write a short name");
        if (part.with_fault < part.delay)
            section.say("with_fault", written(part.with_fault) + " is shorter than without a fault; write \"" +
                                          written(part.delay) + "\" or more");
        scenario.outside_parts.push_back(std::move(part));
    }
}

void read_limit(Section& top, Scenario& scenario) {
    std::optional<Section> section = top.table("limit");
    if (!section) return;
    const auto trips = number_in(*section, "trips_per_year", 1e-9, 1e9, "0.1");
    scenario.declared_delay = section->duration("one_way_delay", Zero::refused, proto::seconds(3600));
    section->finish();
    if (trips) scenario.trip_limit = {.per_year = *trips, .stated = true};
    const Duration longest = std::max(longest_of(scenario.to_device.delay), longest_of(scenario.to_controller.delay));
    if (scenario.declared_delay && *scenario.declared_delay < longest && !top.in_doubt({"channel"})) {
        section->say("one_way_delay", written(*scenario.declared_delay) +
                                          " is shorter than the longest delay of the channel; write \"" +
                                          written(longest) + "\" or more");
    }
    if (!scenario.declared_delay) return;
    // it ends the tails of formulas too
    for (ChannelSettings* way : {&scenario.to_device, &scenario.to_controller})
        for (DelayShape::Cell& cell : way->delay.tail) {
            cell.low = std::min(cell.low, *scenario.declared_delay);
            cell.high = std::min(cell.high, *scenario.declared_delay);
        }
}

}  // namespace

void read_distance(Section& top, Scenario& scenario) {
    read_guard(top, scenario);
    read_stopping(top, scenario);
    read_outside_parts(top, scenario);
    read_limit(top, scenario);
}

}  // namespace sim
