#include "tools/run/describe_values.hpp"

#include "sim/studies/value_check.hpp"
#include "tools/run/run_page_parts.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

Value quantity(const std::optional<std::int64_t>& size, sim::ValueUnit unit) {
    return size ? Value(in_documents(*size, unit)) : Value();
}

Value unit_or_null(sim::ValueUnit unit) { return Value::text_or_null(std::string(unit_in_documents(unit))); }

/// "between 12.5 mm/s and 40 mm/s", "0 mm/s", "never".
std::string used_in_words(const sim::ValueResult& seen, sim::ValueUnit unit) {
    if (!seen.lowest || !seen.highest) return "never in use";
    const std::string low = sim::in_words(*seen.lowest, unit), high = sim::in_words(*seen.highest, unit);
    return low == high ? low + " in use" : low + " to " + high + " in use";
}

}  // namespace

std::string_view unit_in_documents(sim::ValueUnit unit) {
    switch (unit) {
        case sim::ValueUnit::none: return "";
        case sim::ValueUnit::speed: return "mm/s";
        case sim::ValueUnit::length: return "mm";
        case sim::ValueUnit::duration: return "ms";
        case sim::ValueUnit::angle: return "deg";
        case sim::ValueUnit::acceleration: return "mm/s2";
    }
    return "";
}

double in_documents(std::int64_t quantity, sim::ValueUnit unit) {
    const bool millionths = unit == sim::ValueUnit::none || unit == sim::ValueUnit::duration;
    return static_cast<double>(quantity) / (millionths ? 1e6 : 1e3);
}

Value::List describe_value_map(const sim::Scenario& scenario) {
    Value::List list;
    for (std::size_t i = 0; i < scenario.values.all.size(); ++i) {
        const sim::SafeValue& value = scenario.values.all[i];
        std::string does = "none stated";
        if (scenario.machine && scenario.machine->reduced_speed_from == value.name)
            does = "lowers the reduced speed of the " + scenario.machine->name;
        list.push_back(Value::Object{
            {"value", value.name},
            {"direction", name_of_way(value.direction)},
            {"at_controller", place_in_words(scenario, sim::End::controller, i)},
            {"at_device", place_in_words(scenario, sim::End::device, i)},
            {"range", sim::in_words(value.low, value.unit) + " to " + sim::in_words(value.high, value.unit)},
            {"substitute", sim::in_words(value.substitute(), value.unit)},
            {"use", does}});
    }
    return list;
}

Value::List describe_values(const sim::Scenario& scenario, const sim::RunResult& result) {
    Value::List list;
    for (const sim::ValueResult& seen : result.values) {
        const sim::SafeValue& value = scenario.values.all[seen.value];
        list.push_back(Value::Object{{"name", value.name},
                                     {"direction", name_of_way(value.direction)},
                                     {"unit", unit_or_null(value.unit)},
                                     {"low", in_documents(value.low, value.unit)},
                                     {"high", in_documents(value.high, value.unit)},
                                     {"substitute", in_documents(value.substitute(), value.unit)},
                                     {"lowest_used", quantity(seen.lowest, value.unit)},
                                     {"highest_used", quantity(seen.highest, value.unit)},
                                     {"substitutes", seen.substitutes},
                                     {"out_of_range", seen.out_of_range},
                                     {"towards_safe", seen.towards_safe},
                                     {"slowest_ms", Value::of(seen.slowest)},
                                     {"words", used_in_words(seen, value.unit)}});
    }
    return list;
}

void values_on(Page& page, const sim::Scenario& scenario, const sim::RunResult& result) {
    for (const sim::ValueResult& seen : result.values) {
        const sim::SafeValue& value = scenario.values.all[seen.value];
        std::string text = plain(value.name) + ", to " + plain(scenario.end(receiver(value.direction)).name) + ": " +
                           used_in_words(seen, value.unit) + ", else " + sim::in_words(value.substitute(), value.unit);
        if (seen.towards_safe > 0)
            text += "; " + counted(seen.towards_safe, "change", "changes") + " towards safe" +
                    (seen.slowest ? ", in use after " + in_ms(*seen.slowest, Rounding::up) + " at most" : "");
        if (seen.out_of_range > 0) text += "; OUT OF RANGE in " + counted(seen.out_of_range, "telegram", "telegrams");
        page.paragraph(&seen == &result.values.front() ? "Values     " : "           ", text + ".");
    }
}

}  // namespace tools
