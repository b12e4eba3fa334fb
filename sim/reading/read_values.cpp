// [[value]]: what each value means, what gives it, and what is used where it is not there.
#include <array>
#include <limits>
#include <string>
#include <utility>
#include <vector>

#include "sim/reading/named_things.hpp"
#include "sim/reading/parts.hpp"
#include "sim/reading/passed_on_values.hpp"
#include "sim/reading/value_places.hpp"
#include "sim/reading/value_quantities.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

/// The quantity at a key; nothing if it is not there or wrong, which is said.
std::optional<std::int64_t> quantity_at(Section& section, std::string_view key, ValueUnit unit) {
    const Node* node = section.find(key);
    holds(section, key, KeyShape::of(KeyShape::Kind::any_quantity));
    if (node == nullptr) return std::nullopt;
    const auto read = quantity_of(*node, unit);
    if (read) return read.value();
    section.say(key, read.error());
    return std::nullopt;
}

std::string range_in_words(const SafeValue& value) {
    return in_words(value.low, value.unit) + " to " + in_words(value.high, value.unit);
}

/// The range that counts, or all that fits the type; false if what is typed is wrong, which is said.
bool read_range(Section& section, SafeValue& value, const TypedValue& typed) {
    const std::int64_t lowest = lowest_count(typed.type) * typed.scale;
    const std::int64_t highest = highest_count(typed.type) * typed.scale;
    value.low = lowest;
    value.high = highest;
    const Node* node = section.find("range");
    holds(section, "range", KeyShape::of(KeyShape::Kind::list));
    if (node == nullptr) return true;
    if (node->kind != Node::Kind::array || node->items.size() != 2) {
        section.say("range", "is no range; write its two ends, such as [\"0 mm/s\", \"180 mm/s\"]");
        return false;
    }
    for (std::size_t i = 0; i < 2; ++i) {
        const auto end = quantity_of(node->items[i], value.unit);
        if (!end) {
            section.say("range", end.error());
            return false;
        }
        (i == 0 ? value.low : value.high) = end.value();
    }
    const std::string fits = std::string(name_of(typed.type)) + " holds " + in_words(lowest, value.unit) + " to " +
                             in_words(highest, value.unit) + " in counts of " + in_words(typed.scale, value.unit);
    if (value.low >= value.high) {
        section.say("range", "ends where it begins, or before; write the lower end first");
    } else if (value.low < lowest || value.high > highest) {
        section.say("range", range_in_words(value) + " does not fit its type: " + fits +
                                 "; write a wider type, a coarser scale or a smaller range");
    } else if (value.low % typed.scale != 0 || value.high % typed.scale != 0) {
        section.say("range",
                    "has an end between two counts of " + in_words(typed.scale, value.unit) + "; write whole counts");
    } else {
        return true;
    }
    return false;
}

/// R-64 for values: what is used instead permits no more than anything that may be meant.
void read_substitute(Section& section, SafeValue& value) {
    const auto safe = section.choice<SafeEnd>("safe", {{"low", SafeEnd::low}, {"high", SafeEnd::high}});
    if (!section.has("safe")) section.missing("safe", "\"low\"");
    value.safe = safe.value_or(SafeEnd::low);
    const std::optional<std::int64_t> typed = quantity_at(section, "substitute", value.unit);
    if (!section.has("substitute"))
        section.missing("substitute", "\"" + in_words(value.substitute(), value.unit) + "\"");
    if (!typed || !safe || section.wrong("range") || *typed == value.substitute()) return;
    section.say("substitute", in_words(*typed, value.unit) + " does not lie at the safe end of " +
                                  range_in_words(value) + "; write \"" + in_words(value.substitute(), value.unit) +
                                  "\", or a range that ends there");
}

void check_said(Section& section, std::string_view key, const SafeValue& value, std::int64_t said) {
    if (value.in_range(said)) return;
    section.say(key, in_words(said, value.unit) + " lies outside the range of " + range_in_words(value) +
                         "; write a value within it, or a wider range");
}

void read_steps(Section& section, SafeValue& value) {
    std::vector<Section> rows = section.tables("over_time");
    if (rows.empty() && !section.wrong("over_time"))
        section.say("over_time",
                    "is empty; write rows such as { at = \"0 s\", is = \"" + in_words(value.high, value.unit) + "\" }");
    for (Section& row : rows) {
        ValueSource::Step step;
        const auto at = row.duration("at", Section::Zero::allowed, run_longest);
        if (!row.has("at")) row.missing("at", "\"2 s\"");
        const auto is = quantity_at(row, "is", value.unit);
        if (!row.has("is")) row.missing("is", "\"" + in_words(value.high, value.unit) + "\"");
        row.finish();
        if (row.wrong() || !at || !is) continue;
        step.at = *at;
        step.is = *is;
        check_said(row, "is", value, step.is);
        if (!value.source.steps.empty() && step.at <= value.source.steps.back().at)
            row.say("at", written(step.at) + " is not after the row before; write the rows in the order of time");
        value.source.steps.push_back(step);
    }
    if (value.source.steps.empty()) value.source.steps.push_back({{}, value.substitute()});
}

/// What the machine at the sending end does.
void read_by_machine(Section& section, const Scenario& scenario, SafeValue& value) {
    const Node* node = section.find("by_machine");
    holds(section, "by_machine", KeyShape::choice(std::array{"speed"}));
    const End at = sender(value.direction);
    const std::string end_name = at == End::controller ? "controller" : "device";
    if (!section.in_doubt({"machine"}) && (!scenario.machine || scenario.machine->at != at))
        return section.say("by_machine", "no machine is at the " + end_name +
                                             ", which sends this value; write is or over_time, or the other direction");
    if (node->kind == Node::Kind::text && node->text == "speed") {
        value.source.kind = ValueSource::Kind::machine_speed;
        if (value.unit != ValueUnit::speed)
            section.say("by_machine", "is a speed, and the scale is none; write scale = \"0.1 mm/s\"");
        else if (scenario.machine)
            check_said(section, "by_machine", value, scenario.machine->speed_um_s);
        return;
    }
    if (node->kind != Node::Kind::table)
        return section.say("by_machine",
                           "write \"speed\", or a value for each state: { stands = ..., reduced = ..., full = ... }");
    std::optional<Section> table = section.table("by_machine");
    value.source.kind = ValueSource::Kind::machine_state;
    const bool slows = !scenario.machine || scenario.machine->reduced_speed_um_s != 0;
    const auto of = [&](const char* key, std::int64_t& state, bool needed) {
        const auto said = quantity_at(*table, key, value.unit);
        if (needed && !table->has(key)) table->missing(key, "\"" + in_words(value.high, value.unit) + "\"");
        state = said.value_or(value.substitute());
        if (said) check_said(*table, key, value, *said);
    };
    of("stands", value.source.stands, true);
    of("full", value.source.full, true);
    value.source.reduced = value.source.full;
    of("reduced", value.source.reduced, slows);
    table->finish();
}

/// What the sender uses of another value; which one is looked at when all are read.
void read_passed_on(Section& section, SafeValue& value) {
    value.source.kind = ValueSource::Kind::passed_on;
    value.source.from = section.text("from").value_or("");
    value.source.from_elsewhere = section.node().elsewhere;
}

/// Exactly one thing gives it.
void read_source(Section& section, const Scenario& scenario, SafeValue& value) {
    const bool constant = section.has("is"), steps = section.has("over_time"), machine = section.has("by_machine");
    const bool passed_on = section.has("from");
    const int given = (constant ? 1 : 0) + (steps ? 1 : 0) + (machine ? 1 : 0) + (passed_on ? 1 : 0);
    value.source.steps.clear();
    if (given == 0) {
        section.missing("is", "\"" + in_words(value.high, value.unit) + "\", or over_time, by_machine or from");
        return;
    }
    if (given > 1)
        return section.say(passed_on ? "from"
                           : machine ? "by_machine"
                                     : "over_time",
                           "one of is, over_time, by_machine and from gives the value; take the others away");
    if (passed_on) {
        read_passed_on(section, value);
    } else if (constant) {
        const auto is = quantity_at(section, "is", value.unit);
        value.source.steps.push_back({{}, is.value_or(value.substitute())});
        if (is) check_said(section, "is", value, *is);
    } else if (steps) {
        value.source.kind = ValueSource::Kind::over_time;
        read_steps(section, value);
    } else {
        read_by_machine(section, scenario, value);
    }
}

/// How it lies at both ends, unless one of them has it otherwise.
TypedValue read_shared_place(Section& section, SafeValue& value) {
    TypedValue typed;
    typed.where = section.place();
    const auto type = section.choice<ValueType>("type", {{"u8", ValueType::u8},
                                                         {"u16", ValueType::u16},
                                                         {"i16", ValueType::i16},
                                                         {"u32", ValueType::u32},
                                                         {"i32", ValueType::i32}});
    if (!section.has("type")) section.missing("type", "\"u16\"");
    typed.type = type.value_or(ValueType::u16);
    typed.order = read_order(section).value_or(ValueOrder::high_first);
    const auto at = section.integer("at", 0, proto::payload_bytes_max - 1);
    if (!section.has("at")) section.missing("at", "2");
    typed.at = static_cast<unsigned>(at.value_or(0));
    if (!section.has("scale")) section.missing("scale", "\"0.1 mm/s\"");
    if (const auto scale = read_scale(section, typed.type)) {
        typed.scale = scale->one;
        value.unit = scale->unit;
    }
    return typed;
}

void read_value(Section& section, Scenario& scenario, std::vector<TypedValue>& shared, std::vector<bool>& sound) {
    SafeValue value;
    value.where = section.place();
    value.name = read_name(section);
    value.direction = section
                          .choice<Direction>("direction", {{"to-device", Direction::to_device},
                                                           {"to-controller", Direction::to_controller}})
                          .value_or(Direction::to_device);
    if (!section.has("direction")) section.missing("direction", "\"to-device\"");
    TypedValue typed = read_shared_place(section, value);
    const bool placed = !section.wrong("type") && !section.wrong("scale");
    // its own keys first, so that a mistyped one is told before what follows from it
    for (const char* key : {"range", "safe", "substitute", "is", "over_time", "by_machine", "from"})
        static_cast<void>(section.has(key));
    if (placed && section.has("scale")) {
        const bool ranged = read_range(section, value, typed);
        read_substitute(section, value);
        if (ranged && !section.wrong("safe")) read_source(section, scenario, value);
    }
    section.finish();
    is_new_name(scenario.values.all, value.name, section);
    is_new_name(scenario.signals, value.name, section);
    shared.push_back(typed);
    sound.push_back(!section.wrong());
    if (value.source.steps.empty()) value.source.steps.push_back({{}, value.substitute()});
    scenario.values.all.push_back(std::move(value));
}

/// The value that lowers the machine's reduced speed.
void check_reduced_speed_from(Section& top, const Scenario& scenario) {
    if (!scenario.machine || scenario.machine->reduced_speed_from.empty()) return;
    std::optional<Section> machine = top.table("machine");
    if (!machine || machine->wrong("reduced_speed_from") || machine->in_doubt({"value", "machine.at"})) return;
    const std::string& name = scenario.machine->reduced_speed_from;
    const SafeValue* value = named(scenario.values.all, name);
    const auto say = [&](const std::string& what) { machine->say("reduced_speed_from", in_quotes(name) + what); };
    if (value == nullptr) return say(" is no value" + nearest_to(scenario.values.all, name, "write a [[value]] first"));
    if (receiver(value->direction) != scenario.machine->at)
        return say(" is not received at the machine's end; write a value that is");
    if (value->unit != ValueUnit::speed) return say(" is no speed; write scale = \"0.1 mm/s\" there");
    if (value->safe != SafeEnd::low || value->low < 0)
        return say(
            " is not safe at its low end, from 0 on, as a speed is that lowers another; write safe = \"low\" "
            "there");
    if (scenario.machine->reduced_speed_um_s == 0 && !machine->in_doubt({"machine.reduced_speed"}))
        machine->say("reduced_speed_from", "lowers the reduced speed, and there is none; write reduced_speed");
}

}  // namespace

void read_values(Section& top, Scenario& scenario) {
    std::vector<TypedValue> shared;
    std::vector<bool> sound;
    for (Section& section : top.tables("value")) {
        if (scenario.values.all.size() == values_max) {
            top.problems().say(section.place(), "is one too many; write at most 16 values");
            break;
        }
        read_value(section, scenario, shared, sound);
    }
    read_value_places(top, scenario, shared, sound);
    check_passed_on(top.problems(), scenario);
    check_reduced_speed_from(top, scenario);
}

}  // namespace sim
