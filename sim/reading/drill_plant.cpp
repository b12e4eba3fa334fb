#include "sim/reading/drill_plant.hpp"

#include <algorithm>
#include <filesystem>
#include <utility>

#include "sim/reading/cell_parts.hpp"
#include "sim/reading/parts.hpp"
#include "sim/reading/read_cell.hpp"

namespace sim {
namespace {

namespace fs = std::filesystem;

void refuse(const std::string& drill_file, const std::string& key, const std::string& why, Problems& problems) {
    problems.say({.file = drill_file, .line = 0, .key = "scenario." + key, .message = why});
}

void refuse_values(const Scenario& scenario, const std::string& drill_file, Problems& problems) {
    if (scenario.values.any())
        refuse(drill_file, "value", "is nothing that a bench shows; take the values out of the plant of this drill",
               problems);
}

/// What is wrong with the plant as this drill has it.
void say_of_plant(const Problems& of_plant, const std::string& drill_file, Problems& problems) {
    for (FileError error : of_plant.all()) {
        error.file = drill_file;
        error.key = "scenario." + error.key;
        problems.say(std::move(error));
    }
}

/// A key of the plant, as the drill's [scenario] would lay it over.
std::vector<std::string> in_scenario(const std::string& key) { return {"scenario." + key}; }

void take_links(Drill& drill, const DrillPlant& plant, Problems& problems) {
    Problems of_plant(plant.file);
    EarsElsewhere ears(problems.ears(), in_scenario);
    of_plant.tell(&ears);
    WholeCell cell = cell_from(plant.written, plant.file, of_plant);
    say_of_plant(of_plant, drill.file, problems);
    if (of_plant.any()) return;
    for (const CellLink& link : cell.links) {
        refuse_values(link.alone, drill.file, problems);
        if (link.alone.neighbour)
            refuse(drill.file, link.where.key + ".neighbour",
                   "is nothing that a bench with several links shows; take it out of the plant of this drill",
                   problems);
    }
    drill.in_question = plant.in_question;
    if (drill.in_question < cell.links.size()) drill.scenario = cell.links[drill.in_question].alone;
    drill.cell = std::move(cell);
    drill.cell_sheet = plant.cell_sheet;
}

/// The sheet of a document; false if it cannot be read, which is said.
bool read_sheet(const Node& document, DrillPlant& plant, Problems& problems) {
    if (!is_cell(document)) {
        proto::Result<Scenario, FileError> sheet = scenario_from(document, plant.file);
        if (!sheet) problems.say(sheet.error());
        if (sheet) plant.sheet = std::move(sheet.value());
        return sheet.ok();
    }
    Problems of_plant(plant.file);
    WholeCell cell = cell_from(document, plant.file, of_plant);
    if (of_plant.any()) {
        problems.say(of_plant.first());
        return false;
    }
    const auto has_machine = [](const CellLink& link) { return link.alone.machine.has_value(); };
    const auto found = std::find_if(cell.links.begin(), cell.links.end(), has_machine);
    if (found != cell.links.end()) plant.in_question = static_cast<std::size_t>(found - cell.links.begin());
    plant.sheet = cell.links[plant.in_question].alone;
    plant.cell_sheet = std::move(cell);
    return true;
}

}  // namespace

std::vector<std::string> DrillPlant::link_names() const {
    std::vector<std::string> names;
    if (cell_sheet)
        for (const CellLink& link : cell_sheet->links) names.push_back(link.name);
    return names;
}

Node laid_over(Node base, const Node& over) {
    if (base.kind != Node::Kind::table || over.kind != Node::Kind::table) return over;
    for (const Member& member : over.members) {
        const auto same = std::find_if(base.members.begin(), base.members.end(),
                                       [&](const Member& m) { return m.key == member.key; });
        if (same == base.members.end())
            base.members.push_back(member);
        else
            same->value = laid_over(std::move(same->value), member.value);
    }
    return base;
}

std::optional<DrillPlant> plant_of(const Node& drill, const std::string& drill_file, Problems& problems) {
    const Node* const name = drill.find("plant");
    if (name == nullptr || name->kind != Node::Kind::text || name->text.empty()) return std::nullopt;
    DrillPlant plant;
    plant.name = name->text;
    plant.file = (fs::path(drill_file).parent_path() / "plants" / (plant.name + ".toml")).string();
    proto::Result<Node, FileError> document = read_document(plant.file);
    if (!document) {
        problems.say(document.error());
        return std::nullopt;
    }
    if (!read_sheet(document.value(), plant, problems)) return std::nullopt;
    const Node* const changes = drill.find("scenario");
    plant.written = changes != nullptr ? laid_over(std::move(document.value()), *changes) : document.value();
    return plant;
}

void take_plant(Drill& drill, DrillPlant plant, Problems& problems) {
    // its folder decides where profiles are looked for, so it is read as if it were the plant's file
    if (plant.cell_sheet) {
        take_links(drill, plant, problems);
    } else {
        Problems of_plant(plant.file);
        EarsElsewhere ears(problems.ears(), in_scenario);
        of_plant.tell(&ears);
        drill.scenario = scenario_from(plant.written, plant.file, of_plant);
        say_of_plant(of_plant, drill.file, problems);
        refuse_values(drill.scenario, drill.file, problems);
    }
    drill.link_sheet = std::move(plant.sheet);
    drill.plant = drill.link_sheet.plant;
}

}  // namespace sim
