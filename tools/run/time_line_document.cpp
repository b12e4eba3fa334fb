#include "tools/run/time_line_document.hpp"

#include <algorithm>
#include <array>
#include <vector>

#include "sim/scenario/scenario.hpp"
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

/// The changes of one signal among those of all that an end uses.
std::vector<Level> levels_of(const std::vector<sim::TimeLine::SignalChange>& changes, std::size_t signal) {
    std::vector<Level> levels;
    bool one = false;
    for (const auto& change : changes) {
        const bool now = (change.used >> signal & 1) != 0;
        if (now != one) levels.push_back({change.at, now});
        one = now;
    }
    return levels;
}

int height_of(proto::State state) {
    switch (state) {
        case proto::State::safe_state: return 0;
        case proto::State::awaiting_acknowledgement: return 1;
        case proto::State::start_up: return 2;
        case proto::State::running: return 3;
    }
    return 0;
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
        states.push_back(
            {e == sim::End::controller ? "controller" : "device", states_of(thin(line.states(e), by_state))});
    Value::List signals;
    for (std::size_t i = 0; i < scenario.signals.size(); ++i) {
        const sim::End user = sim::receiver(scenario.signals[i].direction);
        Value::List changes;
        for (const Level& level : thin(levels_of(line.signals(user), i), [](const Level& l) { return l.one ? 1 : 0; }))
            changes.push_back(Value::Object{{"at_ms", since_start(level.at)}, {"value", level.one ? 1 : 0}});
        signals.push_back(Value::Object{{"name", scenario.signals[i].name},
                                        {"used_at", user == sim::End::controller ? "controller" : "device"},
                                        {"changes", std::move(changes)}});
    }
    Value::List speed;
    for (const auto& corner : thin(line.speed(), [](const sim::TimeLine::Corner& c) { return c.um_s; }))
        speed.push_back(
            Value::Object{{"at_ms", since_start(corner.at)}, {"mm_per_s", static_cast<double>(corner.um_s) / 1000.0}});
    return Value::Object{
        {"scenario", scenario.file},
        {"duration_ms", since_start(end)},
        {"states", std::move(states)},
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
}

}  // namespace tools
