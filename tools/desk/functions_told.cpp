#include "tools/desk/functions_told.hpp"

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "tools/desk/typed_plant.hpp"

namespace tools {
namespace {

/// The signals that fall with a safeguard, one after the other up to the machine: "curtain_free, may_run".
std::string signals_of(const TypedPlant& typed, const std::string& safeguard) {
    const std::vector<sim::Signal>& signals = typed.link(0).signals;
    std::vector<std::string> reached{safeguard};
    std::string words;
    for (bool more = true; more;) {
        more = false;
        for (const sim::Signal& signal : signals) {
            if (std::find(reached.begin(), reached.end(), signal.name) != reached.end()) continue;
            const bool made = std::any_of(reached.begin(), reached.end(),
                                          [&](const std::string& source) { return sim::is_made_of(signal, source); });
            if (!made) continue;
            reached.push_back(signal.name);
            words += (words.empty() ? "" : ", ") + signal.name;
            more = true;
        }
    }
    return words;
}

std::string returns_of(const TypedPlant& typed, const std::string& function) {
    const auto& all = typed.is_cell() ? typed.cell().functions : typed.link(0).functions;
    for (const sim::SafetyFunction& one : all)
        if (one.name == function) return std::string(sim::name_of(one.returns));
    return {};
}

bool speaks_of(const std::string& sentence, const sim::FunctionCheckRow& row) {
    return row.stated() && sentence.find("\"" + row.function + "\"") != std::string::npos;
}

}  // namespace

FunctionsTold functions_told(const TypedPlant& typed) {
    FunctionsTold told;
    const std::vector<sim::FunctionCheckRow>& rows = typed.functions().rows;
    Value::List all;
    for (const sim::FunctionCheckRow& row : rows) {
        Value::List warnings;
        for (const std::vector<std::string>* const list : {&typed.problems(), &typed.cautions()})
            for (const std::string& sentence : *list)
                if (speaks_of(sentence, row) && std::none_of(warnings.begin(), warnings.end(),
                                                             [&](const Value& one) { return one.text() == sentence; }))
                    warnings.emplace_back(sentence);
        all.push_back(Value::Object{{"name", Value::text_or_null(row.function)},
                                    {"safeguard", row.safeguard},
                                    {"machine", Value::text_or_null(row.machine)},
                                    {"must", Value::text_or_null(row.must)},
                                    {"does", row.does},
                                    {"level", Value::text_or_null(row.level)},
                                    {"ok", row.ok},
                                    {"why", Value::text_or_null(row.why)},
                                    {"warnings", std::move(warnings)},
                                    {"returns", Value::text_or_null(returns_of(typed, row.function))},
                                    {"bit", signals_of(typed, row.safeguard)}});
    }
    told.rows = std::move(all);
    const auto others = [&](const std::vector<std::string>& sentences) {
        Value::List left;
        for (const std::string& one : sentences)
            if (std::none_of(rows.begin(), rows.end(), [&](const auto& row) { return speaks_of(one, row); }))
                left.emplace_back(one);
        return left;
    };
    told.problems = others(typed.problems());
    told.cautions = others(typed.cautions());
    return told;
}

}  // namespace tools
