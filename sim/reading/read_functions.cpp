// [[function]]: what each guard must do.
#include <algorithm>
#include <array>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "sim/reading/parts.hpp"
#include "sim/scenario/nearest.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

using Zero = Section::Zero;

constexpr std::array levels{"SIL 1", "SIL 2", "SIL 3", "PL a", "PL b", "PL c", "PL d", "PL e"};
constexpr std::string_view levels_there_are = R"(write "SIL 1" to "SIL 3" or "PL a" to "PL e")";

std::optional<FunctionLevel> level_in(std::string_view text) {
    if (text.size() == 5 && text.starts_with("SIL ") && text[4] >= '1' && text[4] <= '3')
        return FunctionLevel{FunctionLevel::Scale::sil, static_cast<unsigned>(text[4] - '0')};
    if (text.size() == 4 && text.starts_with("PL ") && text[3] >= 'a' && text[3] <= 'e')
        return FunctionLevel{FunctionLevel::Scale::pl, static_cast<unsigned>(text[3] - 'a') + 1};
    return std::nullopt;
}

void read_level(Section& section, SafetyFunction& function) {
    const std::optional<std::string> typed = section.text("level");
    holds(section, "level", KeyShape::choice(levels));
    if (!typed) return;
    function.level = level_in(*typed);
    if (!function.level) section.say("level", in_quotes(*typed) + " is no level; " + std::string(levels_there_are));
}

std::string nearest_safeguard(const Scenario& scenario, const std::string& name) {
    std::vector<std::string> names;
    for (const Safeguard& s : scenario.safeguards) names.push_back(s.name);
    return names.empty() ? "; write a [[safeguard]] first" : "; " + offered_for(name, names);
}

void read_safeguards_of(Section& section, const Scenario& scenario, SafetyFunction& function) {
    function.safeguards = section.texts("safeguards");
    if (!section.has("safeguards")) return section.missing("safeguards", "[\"front_curtain\"]");
    if (function.safeguards.empty())
        return section.say("safeguards", "is empty; write which guards ask for it, such as [\"front_curtain\"]");
    if (section.in_doubt({"safeguard.name", "safeguard.function", "safeguard.reason"})) return;
    for (std::size_t i = 0; i < function.safeguards.size(); ++i) {
        const std::string& name = function.safeguards[i];
        const auto known = std::find_if(scenario.safeguards.begin(), scenario.safeguards.end(),
                                        [&](const Safeguard& s) { return s.name == name; });
        if (known == scenario.safeguards.end())
            return section.say("safeguards", in_quotes(name) + " is no safeguard" + nearest_safeguard(scenario, name));
        if (!known->no_function.empty())
            return section.say("safeguards", in_quotes(name) + " says function = \"none\" (line " +
                                                 std::to_string(known->where.line) + "); take one of them away");
        if (std::count(function.safeguards.begin(), function.safeguards.end(), name) > 1)
            return section.say("safeguards", in_quotes(name) + " stands there twice; write it once");
    }
}

/// What no machine with these figures can do.
void check_possible(Section& row, const Scenario& scenario, const MustReact& must) {
    if (must.machine != scenario.machine->name)
        return row.say("machine", in_quotes(must.machine) + " is no machine; " +
                                      offered_for(must.machine, std::array{scenario.machine->name}));
    if (must.must == StopCategory::reduced_speed && scenario.machine->reduced_speed_um_s == 0)
        return row.say("must", "asks for a reduced speed, and " + must.machine +
                                   " has none; write reduced_speed = \"120 mm/s\" in [machine]");
    const bool ramp = must.must != StopCategory::category_0;
    if ((ramp ? scenario.machine->ramp_um_s2 : scenario.machine->braking_um_s2) == 0)
        row.say("must", in_quotes(name_of(must.must)) + " needs " + (ramp ? "ramp" : "braking") + ", and " +
                            must.machine + " has none; write " + (ramp ? "ramp" : "braking") +
                            " = \"1500 mm/s2\" in [machine]");
}

/// One reaction: `machine`, `must`, `within`. The machine may be left out, there is one only.
void read_must(Section& row, const Scenario& scenario, SafetyFunction& function) {
    MustReact must;
    must.where = row.place();
    must.machine = row.text("machine").value_or(scenario.machine ? scenario.machine->name : "");
    const auto stop = row.choice<StopCategory>("must", {{"category-0", StopCategory::category_0},
                                                        {"category-1", StopCategory::category_1},
                                                        {"category-2", StopCategory::category_2},
                                                        {"reduced-speed", StopCategory::reduced_speed}});
    if (!row.has("must")) row.missing("must", "\"category-0\"");
    must.must = stop.value_or(StopCategory::category_0);
    must.within = row.duration("within", Zero::refused, proto::seconds(3600));
    if (row.wrong() || row.in_doubt({"machine"})) return;
    if (!scenario.machine) return row.say("must", "there is no machine that could; write a table [machine]");
    check_possible(row, scenario, must);
    for (const MustReact& other : function.must)
        if (other.machine == must.machine)
            return row.say("machine", in_quotes(must.machine) + " is asked twice by one function (line " +
                                          std::to_string(other.where.line) + "); write a function for each");
    function.must.push_back(std::move(must));
}

void read_musts(Section& section, const Scenario& scenario, SafetyFunction& function) {
    const Node* node = section.find("must");
    for (const char* key : {"machine", "within"}) static_cast<void>(section.has(key));
    if (node == nullptr) return section.missing("must", "\"category-0\"");
    if (node->kind != Node::Kind::array) return read_must(section, scenario, function);
    for (Section& row : section.tables("must")) {
        read_must(row, scenario, function);
        row.finish();
    }
    for (const char* key : {"machine", "within"})
        if (section.has(key) && !section.wrong())
            section.say(key, "stands in each row of must already; take it away here");
    if (function.must.empty() && !section.wrong() && !section.in_doubt({"machine"}))
        section.say("must", "is empty; write what the machine must do, such as \"category-0\"");
}

/// `from_speed` and `after`: of which function the guards are passed first.
void read_from_speed(Section& table, SafetyFunction& function) {
    const bool reduced = table.choice<bool>("from_speed", {{"full", false}, {"reduced", true}}).value_or(false);
    function.slowed_by = table.text("after").value_or("");
    if (table.has("after") && !reduced && !table.wrong("from_speed"))
        table.say("after", "means nothing without from_speed = \"reduced\"; write that, or take it away");
    if (!reduced) return;
    if (!table.has("after"))
        table.say("from_speed",
                  "is \"reduced\", and nothing says what has slowed the machine down; write after = \"name of the "
                  "[[function]] whose guards are passed first\"");
    if (!table.has("there"))
        table.say("from_speed",
                  "is \"reduced\", and without there nobody knows the way from the outer guard to this one; write "
                  "there = \"520 mm\"");
}

void read_distance_of(Section& section, SafetyFunction& function) {
    std::optional<Section> table = section.table("distance");
    if (!table) return;
    const std::string safeguard = table->text("safeguard").value_or("");
    read_from_speed(*table, function);
    GuardDistance guard = read_guard_distance(*table);
    guard.safeguard = safeguard;
    if (section.wrong()) return;
    if (!safeguard.empty() && !names(function, safeguard))
        return table->say("safeguard",
                          in_quotes(safeguard) + " is no safeguard of this function; write one of its own");
    function.distance = std::move(guard);
}

bool share_a_mode(const SafetyFunction& a, const SafetyFunction& b) {
    return a.in_mode.empty() || b.in_mode.empty() ||
           std::any_of(a.in_mode.begin(), a.in_mode.end(), [&](const std::string& mode) {
               return std::find(b.in_mode.begin(), b.in_mode.end(), mode) != b.in_mode.end();
           });
}

/// Two functions may not ask different things of one guard and machine in one mode.
void check_agreement(Section& section, const Scenario& scenario, const SafetyFunction& function) {
    for (const SafetyFunction& other : scenario.functions)
        for (const std::string& safeguard : function.safeguards) {
            if (!share_a_mode(function, other) || !names(other, safeguard)) continue;
            for (const MustReact& must : function.must)
                for (const MustReact& before : other.must)
                    if (before.machine == must.machine && before.must != must.must)
                        return section.say("must", in_quotes(name_of(must.must)) + " of " + must.machine + " for " +
                                                       in_quotes(safeguard) + ", but " + in_quotes(other.name) +
                                                       " asks for " + std::string(name_of(before.must)) + " (line " +
                                                       std::to_string(other.where.line) + "); write one of them");
        }
}

/// `after` may name a function that stands further down.
void check_outer_functions(std::vector<Section>& sections, const Scenario& scenario) {
    for (std::size_t i = 0; i < scenario.functions.size(); ++i) {
        const SafetyFunction& function = scenario.functions[i];
        if (function.slowed_by.empty()) continue;
        std::vector<std::string> names;
        for (const SafetyFunction& other : scenario.functions)
            if (&other != &function) names.push_back(other.name);
        if (std::find(names.begin(), names.end(), function.slowed_by) != names.end()) continue;
        std::optional<Section> table = sections[i].table("distance");
        if (function.slowed_by == function.name)
            return table->say("after", "names its own function; write the one whose guards are passed first");
        return table->say("after", in_quotes(function.slowed_by) + " is no function" +
                                       (names.empty() ? std::string("; write its [[function]]")
                                                      : "; " + offered_for(function.slowed_by, names)));
    }
}

}  // namespace

void read_functions(Section& top, Scenario& scenario) {
    std::vector<Section> sections = top.tables("function");
    for (Section& section : sections) {
        SafetyFunction function;
        function.where = section.place();
        function.name = section.text("name").value_or("");
        if (!section.has("name")) section.missing("name", "\"opening the flap stops the rollers\"");
        if (section.has("name") && (function.name.empty() || function.name.size() > 120))
            section.say("name", in_quotes(function.name) + " has not 1 to 120 letters; write what it does in one line");
        read_safeguards_of(section, scenario, function);
        read_musts(section, scenario, function);
        read_in_mode(section, scenario, function.in_mode);
        read_level(section, function);
        function.returns = section
                               .choice<Returns>("returns", {{"after-start", Returns::after_start},
                                                            {"after-reset", Returns::after_reset},
                                                            {"by-itself", Returns::by_itself}})
                               .value_or(Returns::after_start);
        function.reduced_speed_ends_hazard =
            section.choice<bool>("hazard_ends", {{"standstill", false}, {"reduced-speed", true}}).value_or(false);
        read_distance_of(section, function);
        section.finish();
        is_new_name(scenario.functions, function.name, section);
        if (section.wrong()) continue;
        check_agreement(section, scenario, function);
        if (scenario.functions.size() == names_max)
            return section.say("name", "is one too many; write at most 64 functions");
        scenario.functions.push_back(std::move(function));
    }
    if (!top.in_doubt({"function"})) check_outer_functions(sections, scenario);
}

}  // namespace sim
