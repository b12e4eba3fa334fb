// What a rehearsal found at guards and machines.
#include <algorithm>
#include <set>
#include <string>

#include "tools/report/report_found.hpp"
#include "tools/report/report_words.hpp"
#include "tools/text/look_up.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

/// Demands by their numbers: one has a row for each reaction that is asked for.
struct Demands {
    std::set<std::string> all, not_met, obeyed_by_none, not_shown, unstated;
    std::set<std::string> functions;  ///< that name the guard

    void add(const Value& row) {
        const std::string id = scalar_text(look_up(row, "id"));
        const Value& met = look_up(row, "met");
        all.insert(id);
        if (const std::string function = look_up_text(row, "function"); !function.empty()) functions.insert(function);
        if (!look_up(row, "reaches_output").is_true() && is_null(met)) obeyed_by_none.insert(id);
        if (is_null(met)) unstated.insert(id);
        if (word_for_met(met) == "NOT MET") not_met.insert(id);
        if (word_for_met(met) == "not shown") not_shown.insert(id);
    }
    [[nodiscard]] std::string of(const std::set<std::string>& some) const {
        return std::to_string(some.size()) + " of " + counted(all.size(), "demand", "demands");
    }
};

/// A demand of some guard shows that the function is not met.
bool is_shown(const Dossier& d, const std::string& function) {
    const Value::List& demands = look_up_list(d.result, "demands");
    return std::any_of(demands.begin(), demands.end(), [&](const Value& row) {
        return look_up_text(row, "function") == function && word_for_met(look_up(row, "met")) == "NOT MET";
    });
}

/// A function that is not met, though no demand of any guard shows it: then at all of its guards.
void add_functions_not_met(AllFound& all, const Dossier& d, const std::string& guard, const Demands& demands) {
    for (const Value& function : look_up_list(d.result, "functions")) {
        if (word_for_met(look_up(function, "met")) != "NOT MET") continue;
        const std::string name = look_up_text(function, "name");
        if (is_shown(d, name)) continue;
        const Value::List& never = look_up_list(function, "never_demanded");
        const bool names_it =
            demands.functions.contains(name) ||
            std::any_of(never.begin(), never.end(), [&](const Value& v) { return v.text() == guard; });
        if (names_it) all.push_back({{Mark::dangerous, name + ": NOT MET", "#guards"}, 1});
    }
}

/// What is neither wrong nor to be praised beyond what was shown.
Found shown_by(const Dossier& d, const Demands& demands) {
    if (demands.all.empty()) return {{Mark::unknown, "not demanded", "#guards"}, 0};
    if (look_up_text(d.result, "verdict") == "not-judged") return {{Mark::unknown, "not judged", "#guards"}, 0};
    if (!demands.unstated.empty())
        return {{Mark::unknown, counted(demands.all.size(), "demand", "demands") + "; nothing states what it must do",
                 "#guards"},
                0};
    if (!demands.not_shown.empty())
        return {{Mark::unknown, demands.of(demands.not_shown) + " showed nothing", "#guards"},
                demands.not_shown.size()};
    return {{Mark::none, counted(demands.all.size(), "demand", "demands") + ", met", {}}, 0};
}

/// How often a machine came to its end of the hazard too late, or never did, since it ran on at reduced speed.
struct AfterFaults {
    std::uint64_t late = 0, ran_on = 0;

    /// `one`: an injection of the machine's own link, or what that of another did to it.
    void add(const Value& one) {
        if (look_up(one, "within_limit").is_true()) return;
        const bool slow = is_null(look_up(one, "standstill_ms")) && !is_null(look_up(one, "reduced_ms"));
        ++(slow ? ran_on : late);
    }
};

AfterFaults after_faults(const Dossier& d, const std::string& machine) {
    AfterFaults after;
    const auto of = [&](const Dossier& link) {
        const bool own = look_up_text(link.result, "machine", "name") == machine;
        for (const Value& injection : look_up_list(link.result, "injections")) {
            if (own) after.add(injection);
            for (const Value& other : look_up_list(injection, "machines"))
                if (look_up_text(other, "machine") == machine) after.add(other);
        }
    };
    if (d.links.empty()) of(d);
    for (const Dossier& link : d.links) of(link);
    return after;
}

/// Somebody started it at least once.
bool was_started(const Dossier& d, const std::string& machine) {
    const auto started = [&](const Dossier& link) {
        return look_up_text(link.result, "machine", "name") == machine &&
               look_up(link.result, "machine_started").is_true();
    };
    return d.links.empty() ? started(d) : std::any_of(d.links.begin(), d.links.end(), started);
}

}  // namespace

AllFound found_at_guard(const Dossier& d, const Value& drawn) {
    const std::string guard = look_up_text(drawn, "name");
    Demands demands;
    for (const Value& row : look_up_list(d.result, "demands"))
        if (look_up_text(row, "safeguard") == guard) demands.add(row);
    AllFound all;
    if (!demands.not_met.empty())
        all.push_back(
            {{Mark::dangerous, "NOT MET at " + demands.of(demands.not_met), "#guards"}, demands.not_met.size()});
    if (!demands.obeyed_by_none.empty())
        all.push_back({{Mark::dangerous, demands.of(demands.obeyed_by_none) + " obeyed by nothing", "#guards"},
                       demands.obeyed_by_none.size()});
    if (all.empty()) add_functions_not_met(all, d, guard, demands);
    if (const std::uint64_t warns = count_of(look_up_number(drawn, "warns")))
        all.push_back({{Mark::warns, "the wiring does not do what must follow", "#cautions"}, warns});
    const Found shown = shown_by(d, demands);
    if (all.empty() || shown.mark != Mark::none) all.push_back(shown);
    return all;
}

AllFound found_at_machine(const Dossier& d, const std::string& machine) {
    AllFound all;
    Demands demands;
    for (const Value& row : look_up_list(d.result, "demands"))
        if (look_up_text(row, "machine") == machine) demands.add(row);
    const AfterFaults after = after_faults(d, machine);
    const auto injections = [](std::uint64_t number) { return counted(number, "injection", "injections"); };
    if (after.late > 0)
        all.push_back({{Mark::dangerous, "TOO LATE after " + injections(after.late), "#injections"}, after.late});
    if (!demands.not_met.empty())
        all.push_back(
            {{Mark::dangerous, "not as asked at " + demands.of(demands.not_met), "#guards"}, demands.not_met.size()});
    if (after.ran_on > 0)
        all.push_back(
            {{Mark::fails, "RAN ON at reduced speed after " + injections(after.ran_on), "#injections"}, after.ran_on});
    if (!was_started(d, machine))
        all.push_back({{Mark::unknown, "never started: nothing about it was rehearsed", {}}, 0});
    return all;
}

}  // namespace tools
