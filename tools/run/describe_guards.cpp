#include "tools/run/describe_guards.hpp"

#include <algorithm>
#include <optional>
#include <string>

#include "sim/scenario/scenario.hpp"
#include "tools/run/guard_rows.hpp"
#include "tools/text/look_up.hpp"

namespace tools {
namespace {

using sim::DemandResult;
using sim::Met;

Value met_of(std::optional<Met> met) {
    if (!met) return {};
    return *met == Met::not_shown ? Value("not-shown") : Value(*met == Met::yes);
}

Value in_mm(const std::optional<std::int64_t>& um) { return um ? Value(static_cast<double>(*um) / 1000.0) : Value(); }

Value describe_hop(const sim::Scenario& scenario, const sim::DemandHop& hop) {
    const bool known = hop.signal < scenario.signals.size();
    Value::Object described{{"link", Value::text_or_null(hop.link)},
                            {"signal", known ? Value(scenario.signals[hop.signal].name) : Value()},
                            {"computed_ms", Value::of(hop.computed)},
                            {"sent_ms", Value::of(hop.sent)},
                            {"received_ms", Value::of(hop.received)},
                            {"was_zero", hop.was_zero}};
    const sim::Signal* second = known ? sim::second_of(scenario.signals, scenario.signals[hop.signal].name) : nullptr;
    if (second != nullptr) described.push_back({"second_bit", second->name});
    return described;
}

/// What the row is judged by; null where no function names the guard.
struct Asked {
    Value function, must;
};

Asked asked_by(const sim::Scenario& scenario, const sim::FunctionRow* judged) {
    if (judged == nullptr || judged->function >= scenario.functions.size()) return {};
    const sim::SafetyFunction& function = scenario.functions[judged->function];
    return {function.name,
            judged->must < function.must.size() ? Value(name_of(function.must[judged->must].must)) : Value()};
}

Value describe_row(const sim::Scenario& scenario, const GuardRow& row) {
    const DemandResult& demand = *row.demand;
    const sim::Safeguard* guard = guard_of(scenario, demand);
    const bool known = demand.demand < scenario.demands.size();
    const Asked asked = asked_by(scenario, row.judged);
    Value::List hops;
    for (const sim::DemandHop& hop : demand.hops) hops.push_back(describe_hop(scenario, hop));
    const auto of_first_hop = [&](std::optional<proto::Duration> sim::DemandHop::*time) {
        return demand.hops.empty() ? Value() : Value::of(demand.hops.front().*time);
    };
    // a stop long after a demand that nothing obeys is not its doing
    const auto if_obeyed = [&](Value value) { return demand.reaches_output ? std::move(value) : Value(); };
    const std::string_view did = name_of(machine_did(scenario, demand));
    return Value::Object{
        {"id", std::uint64_t{row.number}},
        {"function", asked.function},
        {"must", asked.must},
        {"safeguard", known ? Value(scenario.demands[demand.demand].safeguard) : Value()},
        {"link", demand.hops.empty() ? Value() : Value::text_or_null(demand.hops.front().link)},
        {"at_ms", demand.at - (guard ? guard->delay : proto::Duration{})},
        {"contact_ms", demand.at},
        {"computed_ms", of_first_hop(&sim::DemandHop::computed)},
        {"sent_ms", of_first_hop(&sim::DemandHop::sent)},
        {"received_ms", of_first_hop(&sim::DemandHop::received)},
        {"command_ms", if_obeyed(Value::of(demand.command))},
        {"response_ms", Value::of(demand.response)},
        {"reduced_ms", if_obeyed(Value::of(demand.reduced))},
        {"standstill_ms", if_obeyed(Value::of(demand.standstill))},
        {"travelled_mm", if_obeyed(in_mm(demand.travelled_um))},
        {"stopping_mm", if_obeyed(in_mm(demand.stopping_um))},
        {"allowed_ms", row.judged ? Value::of(row.judged->allowed) : Value()},
        {"met", met_of(row.judged ? std::optional(row.judged->met) : std::nullopt)},
        {"machine", !demand.machine.empty() ? Value(demand.machine)
                    : scenario.machine      ? Value(scenario.machine->name)
                                            : Value()},
        {"machine_did", Value::text_or_null(did)},
        {"reaches_output", demand.reaches_output},
        {"why", Value::text_or_null(why_of(scenario, row))},
        {"hops", std::move(hops)},
    };
}

/// What nobody states cannot be met.
Value describe_unstated(const sim::Scenario& scenario, const sim::RunResult& result, const sim::Safeguard& guard) {
    const bool demanded = std::any_of(result.demands.begin(), result.demands.end(),
                                      [&](const DemandResult& demand) { return guard_of(scenario, demand) == &guard; });
    return Value::Object{{"name", guard.name},
                         {"stated", false},
                         {"level", Value()},
                         {"met", Value()},
                         {"worst_ms", Value()},
                         {"within_ms", Value()},
                         {"never_demanded", demanded ? Value::List{} : Value::List{guard.name}},
                         {"why", "nothing states what it must do"}};
}

}  // namespace

Value::List describe_demands(const sim::Scenario& scenario, const sim::RunResult& result) {
    Value::List list;
    for (const GuardRow& row : guard_rows(result)) list.push_back(describe_row(scenario, row));
    return list;
}

Value::List describe_functions(const sim::Scenario& scenario, const sim::RunResult& result) {
    Value::List list;
    for (const sim::FunctionResult& found : result.functions) {
        if (found.function >= scenario.functions.size()) continue;
        const sim::SafetyFunction& function = scenario.functions[found.function];
        list.push_back(Value::Object{{"name", function.name},
                                     {"stated", true},
                                     {"level", function.level ? Value(written(*function.level)) : Value()},
                                     {"met", met_of(found.met)},
                                     {"worst_ms", Value::of(found.worst)},
                                     {"within_ms", Value::of(found.within)},
                                     {"never_demanded", Value::list_of(found.never_demanded)},
                                     {"why", Value::text_or_null(why_of(scenario, result, found))}});
    }
    if (!scenario.functions.empty()) return list;
    for (const sim::Safeguard& guard : scenario.safeguards)
        if (guard.no_function.empty()) list.push_back(describe_unstated(scenario, result, guard));
    return list;
}

DemandTable demand_table(const Value::List& demands) {
    constexpr std::string_view of_hop[] = {"link", "signal", "computed_ms", "sent_ms", "received_ms", "was_zero"};
    const auto row_of = [&](const Value& demand, const Value& hop, std::uint64_t number) {
        Value::Object row;
        for (const Value::Member& member : *demand.object()) {
            if (member.key == "hops" || std::find(std::begin(of_hop), std::end(of_hop), member.key) != std::end(of_hop))
                continue;
            row.push_back(member);
            if (member.key != "contact_ms") continue;
            row.push_back({"hop", number == 0 ? Value() : Value(number)});
            for (const std::string_view key : of_hop) row.push_back({std::string(key), look_up(hop, key)});
        }
        return row;
    };
    DemandTable table;
    for (const Value& demand : demands) {
        std::uint64_t number = 0;
        for (const Value& hop : look_up_list(demand, "hops")) table.rows.emplace_back(row_of(demand, hop, ++number));
        if (number == 0) table.rows.emplace_back(row_of(demand, Value(), 0));
    }
    const sim::DemandResult none;
    table.pattern = row_of(describe_row(sim::Scenario{}, {0, &none}), Value(), 0);
    return table;
}

}  // namespace tools
