// The plant near the top of the report: what each part is, in a drawing and as a list, and where something was found.
#include <algorithm>
#include <utility>

#include "tools/report/report_found.hpp"
#include "tools/report/report_sheet.hpp"
#include "tools/report/report_words.hpp"
#include "tools/text/look_up.hpp"

namespace tools {
namespace {

/// A part of the plant in words, with what was found there.
struct Told {
    std::string name, what;
    const AllFound* found = nullptr;
    std::string to;  ///< where it is told of, found or not
};

/// In the order of the lists in `drawing`.
struct AllTold {
    Told controller;
    std::vector<Told> links, stations, safeguards, machines;
};

/// "emergency-stop" -> "emergency stop".
std::string kind_of_guard(const Value& guard) {
    std::string kind = look_up_text(guard, "kind");
    std::replace(kind.begin(), kind.end(), '-', ' ');
    return kind.empty() ? "guard" : "guard, " + kind;
}

std::string behind_of(const Dossier& d, std::size_t link) {
    return d.links.empty() ? std::string() : "-" + std::to_string(link + 1);
}

AllTold told_of(const Dossier& d, const FoundAtParts& found) {
    const Value& drawing = look_up(d.plant, "drawing");
    const bool of_cell = !d.links.empty();
    AllTold told;
    told.controller = {look_up_text(drawing, "controller"), "controller", &found.controller,
                       of_cell ? "#links" : "#settings"};
    const Value::List &links = look_up_list(drawing, "links"), &stations = look_up_list(drawing, "stations"),
                      &guards = look_up_list(drawing, "safeguards"), &machines = look_up_list(drawing, "machines");
    for (std::size_t i = 0; i < links.size(); ++i) {
        const std::string name = look_up_text(links[i], "name");
        told.links.push_back({name.empty() ? "Link" : "Link " + name,
                              "to " + look_up_text(links[i], "device") + ", " + look_up_text(links[i], "exchange") +
                                  ", cycle " + look_up_text(links[i], "cycle") + ", watchdog " +
                                  look_up_text(links[i], "watchdog"),
                              &found.links[i], of_cell ? "#link" + behind_of(d, i) : "#injections"});
    }
    for (std::size_t i = 0; i < stations.size(); ++i) {
        const std::string ip = look_up_text(stations[i], "ip");
        told.stations.push_back({look_up_text(stations[i], "name"), "station" + (ip.empty() ? "" : ", " + ip),
                                 &found.stations[i], "#settings" + behind_of(d, i)});
    }
    for (std::size_t i = 0; i < guards.size(); ++i)
        told.safeguards.push_back({look_up_text(guards[i], "name"),
                                   kind_of_guard(guards[i]) + ", read at " + look_up_text(guards[i], "at"),
                                   &found.safeguards[i], "#guards"});
    for (std::size_t i = 0; i < machines.size(); ++i)
        told.machines.push_back(
            {look_up_text(machines[i], "name"),
             "machine, " + look_up_text(machines[i], "speed") + ", drive at " + look_up_text(machines[i], "at"),
             &found.machines[i], "#injections"});
    return told;
}

SheetPicture::Part part_of(const Told& told) {
    SheetPicture::Part part{told.name, told.what, {}};
    for (const Found& one : *told.found) part.found.push_back(one);
    return part;
}

/// As the drawing has them: what is wired to the controller, then each link with its station and what is wired there.
std::vector<SheetPicture::Part> parts_of(const Value& drawing, const AllTold& told) {
    std::vector<SheetPicture::Part> parts;
    const Value::List& stations = look_up_list(drawing, "stations");
    const std::string& controller = told.controller.name;
    const auto is_station = [&](const std::string& name) {
        return name != controller && std::any_of(stations.begin(), stations.end(),
                                                 [&](const Value& one) { return look_up_text(one, "name") == name; });
    };
    const auto add_at = [&](const char* list, const std::vector<Told>& of, const std::string& place) {
        const Value::List& all = look_up_list(drawing, list);
        for (std::size_t i = 0; i < all.size(); ++i) {
            const std::string at = look_up_text(all[i], "at");
            if (is_station(at) ? at == place : place == controller) parts.push_back(part_of(of[i]));
        }
    };
    add_at("safeguards", told.safeguards, controller);
    add_at("machines", told.machines, controller);
    parts.push_back(part_of(told.controller));
    for (std::size_t i = 0; i < std::max(told.links.size(), stations.size()); ++i) {
        if (i < told.links.size()) parts.push_back(part_of(told.links[i]));
        if (i >= stations.size()) continue;
        parts.push_back(part_of(told.stations[i]));
        const std::string name = look_up_text(stations[i], "name");
        if (name == controller) continue;
        add_at("safeguards", told.safeguards, name);
        add_at("machines", told.machines, name);
    }
    return parts;
}

std::string says_of(const Dossier& d, const FoundAtParts& found) {
    std::string says =
        "What stands in the scenario, not how it runs. A mark with its count stands where something was found; a part "
        "without one is not proven by that.";
    const std::string verdict = look_up_text(d.result, "verdict");
    if (verdict == "not-judged") return says + " This computer was too late to judge, so no part is.";
    if ((verdict != "pass" || !look_up(d.result, "as_expected").is_true()) && !any_bad(found))
        says += " What the verdict rests on has its place at no single part: see the cautions.";
    return says;
}

/// As the names of tools/pages/marks.js.
const char* name_of(Mark mark) {
    switch (mark) {
        case Mark::dangerous: return "danger";
        case Mark::fails: return "fails";
        case Mark::differs: return "differs";
        case Mark::warns: return "warns";
        case Mark::unknown:
        case Mark::none:
        case Mark::starting:
        case Mark::running:
        case Mark::stopped:
        case Mark::waits: return "unknown";
    }
    return "unknown";
}

Value data_of(const Told& told) {
    const Found* const worst = worst_of(*told.found);
    std::string words = told.name + ": " + told.what;
    for (const Found& one : *told.found) words += "; " + one.words;
    std::uint64_t count = 0;
    for (const Found& one : *told.found)
        if (worst != nullptr && one.mark == worst->mark) count += one.count;
    return Value::Object{{"mark", worst == nullptr ? Value() : Value(name_of(worst->mark))},
                         {"count", count},
                         {"to", worst == nullptr || worst->to.empty() ? told.to : worst->to},
                         {"words", words}};
}

Value data_of(const std::vector<Told>& all) {
    Value::List list;
    for (const Told& one : all) list.push_back(data_of(one));
    return list;
}

}  // namespace

void add_plant(Sheet& sheet, const Dossier& d) {
    const Value& drawing = look_up(d.plant, "drawing");
    if (is_null(drawing)) return;
    const FoundAtParts found = found_at_parts(d);
    sheet.blocks.emplace_back(
        SheetHeading{.margin = {}, .text = "The plant, and where something was found", .id = "found-where"});
    sheet.blocks.emplace_back(SheetPicture{.name = "plant",
                                           .title = "Plant and links.",
                                           .says = says_of(d, found),
                                           .parts = parts_of(drawing, told_of(d, found))});
}

Value plant_data_of(const Dossier& d) {
    const Value& drawing = look_up(d.plant, "drawing");
    if (is_null(drawing)) return {};
    const FoundAtParts found = found_at_parts(d);
    const AllTold told = told_of(d, found);
    return Value::Object{{"drawing", drawing},
                         {"controller", data_of(told.controller)},
                         {"links", data_of(told.links)},
                         {"stations", data_of(told.stations)},
                         {"safeguards", data_of(told.safeguards)},
                         {"machines", data_of(told.machines)}};
}

}  // namespace tools
