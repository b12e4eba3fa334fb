#pragma once
// What each guard must do against what the wiring makes of it, before anything runs: reactions, times, levels, returns.
#include <string>
#include <vector>

namespace sim {

struct Scenario;

/// One safeguard of one function and what it asks of one machine; also each safeguard that no function names.
struct FunctionCheckRow {
    std::string function = {};  ///< empty where none names the safeguard
    std::string safeguard = {};
    std::string machine = {};  ///< empty without a machine
    std::string must = {};     ///< "category-1"; empty where nothing is stated
    std::string does = {};     ///< the same, by wiring alone: "nothing" if no reaction obeys it
    std::string level = {};    ///< "SIL 2", "PL d"; empty where none is stated
    bool ok = true;
    std::string why = {};  ///< what is wrong, or why no function needs it; may be empty
    [[nodiscard]] bool stated() const { return !function.empty(); }
};

struct FunctionCheck {
    std::vector<FunctionCheckRow> rows;
    std::vector<std::string> problems;
    std::vector<std::string> cautions;
    std::vector<std::string> reckoned;  ///< what is counted with besides the settings, as sentences
    [[nodiscard]] bool ok() const { return problems.empty(); }
};

/// Requires a scenario as read_scenario() gives it.
FunctionCheck check_functions(const Scenario& scenario);

}  // namespace sim
