#include "sim/reading/passed_on_values.hpp"

#include <string>

#include "sim/reading/named_things.hpp"
#include "sim/reading/parts.hpp"
#include "sim/scenario/nearest.hpp"
#include "sim/scenario/whole_cell.hpp"

namespace sim {
namespace {

bool is_passed_on(const SafeValue& value) { return value.source.kind == ValueSource::Kind::passed_on; }

/// Why `value` cannot be what its sender uses of `from`; empty if it can.
std::string why_not(const SafeValue& value, const SafeValue& from) {
    const std::string name = in_quotes(from.name);
    if (receiver(from.direction) != sender(value.direction))
        return name + " does not come to the end that sends this value; write one of the other direction";
    if (is_passed_on(from)) return name + " is passed on itself; write the value that it comes from";
    if (from.unit != value.unit) return name + " is another quantity; write a value with a scale of the same kind";
    if (from.safe != value.safe)
        return name + " is safe at its " + std::string(name_of(from.safe)) +
               " end, so its substitute would permit most here; write the same safe end for both";
    if (from.low < value.low || from.high > value.high)
        return name + " may be " + in_words(from.low, from.unit) + " to " + in_words(from.high, from.unit) +
               ", which lies outside the range here; write a range that holds it";
    return {};
}

void say(Problems& problems, const SafeValue& value, std::string what) {
    problems.say({value.where.line, value.where.key + ".from"}, std::move(what));
}

}  // namespace

void check_passed_on(Problems& problems, const Scenario& scenario) {
    const std::vector<SafeValue>& all = scenario.values.all;
    for (const SafeValue& value : all) {
        if (!is_passed_on(value) || value.source.from_elsewhere || problems.wrong(value.where.key)) continue;
        const SafeValue* from = named(all, value.source.from);
        if (from == nullptr)
            say(problems, value,
                in_quotes(value.source.from) + " is no value" +
                    nearest_to(all, value.source.from, "write a [[value]] first"));
        else if (std::string why = why_not(value, *from); !why.empty())
            say(problems, value, std::move(why));
    }
}

void check_passed_on(Problems& problems, const WholeCell& cell) {
    std::vector<SafeValue> all;
    for (const CellLink& link : cell.links)
        for (const SafeValue& value : link.alone.values.all) {
            if (named(all, value.name) != nullptr)
                problems.say({value.where.line, value.where.key + ".name"},
                             in_quotes(value.name) + " is taken by a value of another link; write another name");
            all.push_back(value);
        }
    for (const SafeValue& value : all) {
        if (!value.source.from_elsewhere) continue;
        if (std::string why = why_not(value, *named(all, value.source.from)); !why.empty())
            say(problems, value, std::move(why));
    }
}

}  // namespace sim
