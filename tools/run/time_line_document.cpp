#include "tools/run/time_line_document.hpp"

#include <algorithm>
#include <array>
#include <vector>

#include "sim/scenario/scenario.hpp"
#include "tools/run/describe_values.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using proto::Duration;
using proto::Instant;

Duration since_start(Instant at) { return at - Instant{}; }

/// Of a thinned list in each of so many slices of time four: first, last, lowest, highest.
template <class Change, class Height>
std::vector<Change> thinned(const std::vector<Change>& all, std::size_t most, Instant end, Height height) {
    if (all.size() <= most) return all;
    const std::size_t slices = std::max<std::size_t>(most / 4, 1);
    const auto slice_of = [&](const Change& change) {
        const double part = static_cast<double>(change.at.ns) / static_cast<double>(std::max<std::int64_t>(end.ns, 1));
        return std::min(static_cast<std::size_t>(part * static_cast<double>(slices)), slices - 1);
    };
    std::vector<Change> kept;
    for (std::size_t begin = 0; begin < all.size();) {
        std::size_t after = begin + 1, low = begin, high = begin;
        while (after < all.size() && slice_of(all[after]) == slice_of(all[begin])) {
            if (height(all[after]) < height(all[low])) low = after;
            if (height(all[after]) > height(all[high])) high = after;
            ++after;
        }
        std::array<std::size_t, 4> four{begin, low, high, after - 1};
        std::sort(four.begin(), four.end());
        for (std::size_t i = 0; i < four.size(); ++i)
            if (i == 0 || four[i] != four[i - 1]) kept.push_back(all[four[i]]);
        begin = after;
    }
    return kept;
}

struct Level {
    Instant at;
    bool one;
};

/// The changes of one bit among those of many; `first`: what it is before the first change.
template <class Change>
std::vector<Level> levels_of(const std::vector<Change>& changes, std::uint64_t Change::*bits, std::size_t bit,
                             bool first) {
    std::vector<Level> levels;
    bool one = first;
    for (const Change& change : changes) {
        const bool now = (change.*bits >> bit & 1) != 0;
        if (now != one) levels.push_back({change.at, now});
        one = now;
    }
    return levels;
}

int height_of_level(const Level& level) { return level.one ? 1 : 0; }

Value::List changes_of(const std::vector<Level>& levels) {
    Value::List changes;
    for (const Level& level : levels)
        changes.push_back(Value::Object{{"at_ms", since_start(level.at)}, {"value", level.one ? 1 : 0}});
    return changes;
}

std::string_view name_of_end(sim::End end) { return end == sim::End::controller ? "controller" : "device"; }

int height_of(proto::State state) {
    switch (state) {
        case proto::State::safe_state: return 0;
        case proto::State::awaiting_acknowledgement: return 1;
        case proto::State::start_up: return 2;
        case proto::State::running: return 3;
    }
    return 0;
}

/// The changes of one value among those of many; `first`: what it is before the first change.
struct ValueLevel {
    Instant at;
    std::int64_t is = 0;
    bool substitute = true;
};
std::vector<ValueLevel> levels_of(const std::vector<sim::TimeLine::ValueChange>& changes, std::size_t value,
                                  std::int64_t first) {
    std::vector<ValueLevel> levels;
    ValueLevel before{{}, first, true};
    for (const sim::TimeLine::ValueChange& change : changes) {
        const ValueLevel now{change.at, change.values.is[value], change.values.is_substitute(value)};
        if (now.is != before.is || now.substitute != before.substitute) levels.push_back(now);
        before = now;
    }
    return levels;
}

/// Each value at both ends, as signals are.
template <class Thin>
Value::List values_of(const sim::Scenario& scenario, const sim::TimeLine& line, Thin thin) {
    Value::List list;
    for (std::size_t i = 0; i < scenario.values.all.size(); ++i) {
        const sim::SafeValue& value = scenario.values.all[i];
        const sim::End from = sim::sender(value.direction), user = sim::receiver(value.direction);
        const auto rows = [&](const std::vector<sim::TimeLine::ValueChange>& changes) {
            Value::List all;
            for (const ValueLevel& level :
                 thin(levels_of(changes, i, value.substitute()), [](const ValueLevel& one) { return one.is; }))
                all.push_back(Value::Object{{"at_ms", since_start(level.at)},
                                            {"value", in_documents(level.is, value.unit)},
                                            {"substitute", level.substitute}});
            return all;
        };
        list.push_back(Value::Object{{"name", value.name},
                                     {"unit", Value::text_or_null(std::string(unit_in_documents(value.unit)))},
                                     {"meant_at", name_of_end(from)},
                                     {"used_at", name_of_end(user)},
                                     {"meant", rows(line.values_meant(from))},
                                     {"changes", rows(line.values_used(user))}});
    }
    return list;
}

Value states_of(const std::vector<sim::TimeLine::StateChange>& changes) {
    Value::List list;
    for (const auto& change : changes)
        list.push_back(Value::Object{{"at_ms", since_start(change.at)},
                                     {"state", name_of(change.state)},
                                     {"cause", name_of(change.cause)},
                                     {"measure", change.measure ? Value(name_of(*change.measure)) : Value()}});
    return list;
}

}  // namespace

Value describe(const sim::Scenario& scenario, const sim::TimeLine& line, std::size_t most) {
    const Instant end = line.end();
    std::uint64_t left_out = line.left_out();
    const auto thin = [&](const auto& all, auto height) {
        auto kept = thinned(all, most, end, height);
        left_out += all.size() - kept.size();
        return kept;
    };
    const auto by_state = [](const sim::TimeLine::StateChange& change) { return height_of(change.state); };
    Value::Object states;
    for (const sim::End e : {sim::End::controller, sim::End::device})
        states.push_back({std::string(name_of_end(e)), states_of(thin(line.states(e), by_state))});
    using SignalChange = sim::TimeLine::SignalChange;
    using ContactChange = sim::TimeLine::ContactChange;
    Value::List signals, contacts;
    for (std::size_t i = 0; i < scenario.signals.size(); ++i) {
        const sim::Direction way = scenario.signals[i].direction;
        const sim::End from = sim::sender(way), user = sim::receiver(way);
        const auto computed = thin(levels_of(line.computed(from), &SignalChange::used, i, false), height_of_level);
        const auto used = thin(levels_of(line.signals(user), &SignalChange::used, i, false), height_of_level);
        Value::Object signal{{"name", scenario.signals[i].name},
                             {"computed_at", name_of_end(from)},
                             {"used_at", name_of_end(user)},
                             {"computed", changes_of(computed)},
                             {"changes", changes_of(used)}};
        if (const std::string& first = scenario.signals[i].inverse_of; !first.empty())
            signal.push_back({"inverse_of", first});
        signals.push_back(std::move(signal));
    }
    for (std::size_t i = 0; i < scenario.safeguards.size(); ++i) {
        const auto free = thin(levels_of(line.contacts(), &ContactChange::free, i, true), height_of_level);
        contacts.push_back(Value::Object{{"name", scenario.safeguards[i].name},
                                         {"at", name_of_end(scenario.safeguards[i].at)},
                                         {"changes", changes_of(free)}});
    }
    Value::List speed;
    for (const auto& corner : thin(line.speed(), [](const sim::TimeLine::Corner& c) { return c.um_s; }))
        speed.push_back(
            Value::Object{{"at_ms", since_start(corner.at)}, {"mm_per_s", static_cast<double>(corner.um_s) / 1000.0}});
    Value::List values = values_of(scenario, line, thin);
    Value::Object document{
        {"scenario", scenario.file},
        {"duration_ms", since_start(end)},
        {"states", std::move(states)},
        {"contacts", std::move(contacts)},
        {"signals", std::move(signals)},
        {"machine", scenario.machine ? Value(scenario.machine->name) : Value()},
        {"speed", std::move(speed)},
        {"left_out", left_out},
        {"thinned", left_out > 0
                        ? Value("Of lines with over " + std::to_string(most) +
                                " changes the first, last, lowest and highest of each slice of time are kept; " +
                                std::to_string(left_out) + " changes are left out.")
                        : Value()},
    };
    if (!values.empty()) document.push_back({"values", std::move(values)});
    return document;
}

}  // namespace tools
