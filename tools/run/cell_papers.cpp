#include "tools/run/cell_papers.hpp"

#include <algorithm>
#include <string>

#include "sim/scenario/units.hpp"
#include "sim/studies/cell_check.hpp"
#include "sim/timing/cell_ways.hpp"
#include "sim/timing/response.hpp"
#include "tools/plant/drawn_plant.hpp"
#include "tools/run/plant_document.hpp"
#include "tools/store/provenance.hpp"
#include "tools/text/json.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using sim::WholeCell;

/// What every link says is said once, what only some do with their names.
std::vector<std::string> of_links(const WholeCell& cell, const sim::CellCheck& check,
                                  const std::vector<std::string> sim::CrossCheck::*texts) {
    std::vector<std::string> all;
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        for (const std::string& one : check.ends[i].*texts) {
            const bool all_say = std::all_of(check.ends.begin(), check.ends.end(), [&](const sim::CrossCheck& ends) {
                return std::find((ends.*texts).begin(), (ends.*texts).end(), one) != (ends.*texts).end();
            });
            if (!all_say)
                all.push_back("link " + cell.links[i].name + ": " + one);
            else if (i == 0)
                all.push_back(one);
        }
    return all;
}

std::vector<std::string> with(std::vector<std::string> all, const std::vector<std::string>& more) {
    for (const std::string& one : more)
        if (std::find(all.begin(), all.end(), one) == all.end()) all.push_back(one);
    return all;
}

Value::List lines_of(const WholeCell& cell) {
    Value::List lines;
    const sim::Scenario& first = cell.links.front().alone;
    lines.emplace_back("Controller: " + full_names(first).controller + ", a scan every " + sim::written(cell.scan) +
                       ", one for all links");
    std::string guards, machines;
    for (std::size_t i = 0; i < first.safeguards.size(); ++i)
        guards += (guards.empty() ? "" : ", ") + first.safeguards[i].name + " at " + cell.station_of_safeguard(i);
    for (const sim::CellLink& link : cell.links)
        if (link.alone.machine)
            machines +=
                (machines.empty() ? "" : ", ") + link.alone.machine->name + " at " + full_names(link.alone).device;
    lines.emplace_back("Safeguards: " + (guards.empty() ? "none" : guards));
    lines.emplace_back("Machines: " + (machines.empty() ? "none; the outputs count" : machines));
    std::string segments;
    for (const sim::Segment& segment : cell.segments) {
        segments += segments.empty() ? "" : "; ";
        segments += segment.name + ":";
        for (const std::size_t link : segment.links) segments += " " + cell.links[link].name;
    }
    lines.emplace_back(segments.empty()
                           ? "One episode may disturb all links at once: nothing says that they share nothing"
                           : "What one episode may disturb at once: " + segments);
    return lines;
}

Value drawing_of(const WholeCell& cell, const sim::CellCheck& check) {
    PlantToDraw plant{.links = {}, .guard_stations = stations_of_guards(cell), .functions = &check.functions};
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        plant.links.push_back({cell.links[i].name, &cell.links[i].alone, &check.ends[i]});
    return drawn_plant(plant);
}

Value describe_cell_plant(const WholeCell& cell, std::uint64_t seed, const sim::CellCheck& check) {
    Value::List links;
    for (const sim::CellLink& link : cell.links)
        links.push_back(Value::Object{
            {"name", link.name},
            {"device", full_names(link.alone).device},
            {"machine", Value::text_or_null(link.alone.machine ? link.alone.machine->name : std::string())}});
    const std::string controller = full_names(cell.links.front().alone).controller;
    return Value::Object{
        {"scenario", cell.file},
        {"title", cell.title},
        {"shows", cell.shows},
        {"plant", cell.plant},
        {"seed", seed},
        {"ends", Value::Object{{"controller", controller}, {"device", "the stations"}}},
        {"lines", lines_of(cell)},
        {"links", std::move(links)},
        {"drawing", drawing_of(cell, check)},
        {"problems",
         Value::list_of(
             with(with(of_links(cell, check, &sim::CrossCheck::problems), check.functions.problems), check.problems))},
        {"undetectable", Value::list_of(of_links(cell, check, &sim::CrossCheck::undetectable))},
        {"cautions",
         Value::list_of(
             with(with(of_links(cell, check, &sim::CrossCheck::cautions), check.functions.cautions), check.cautions))},
    };
}

}  // namespace

std::vector<EvidenceFile> plant_files_of(const WholeCell& cell, std::uint64_t seed) {
    const sim::CellCheck check = check_cell(cell);
    const std::vector<std::string> stations = stations_of_guards(cell);
    std::vector<EvidenceFile> files{
        {"plant.json", to_json(with_provenance(describe_cell_plant(cell, seed, check), cell.of_file()))}};
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        const sim::Scenario& alone = cell.links[i].alone;
        const PlantFound found{check.ends[i], sim::longest_watchdog(sim::decisive_view(cell, i)), stations, cell.scan};
        files.push_back({"plant_" + std::to_string(i + 1) + ".json",
                         to_json(with_provenance(describe_plant(alone, seed, found), alone))});
    }
    return files;
}

}  // namespace tools
