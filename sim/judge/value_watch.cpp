#include "sim/judge/value_watch.hpp"

#include <algorithm>
#include <utility>

#include "sim/scenario/scenario.hpp"

namespace sim {

ValueWatch::ValueWatch(const Scenario& scenario) : scenario_(scenario) {
    const std::vector<SafeValue>& all = scenario.values.all;
    for (std::size_t i = 0; i < all.size(); ++i) {
        none_.is[i] = all[i].substitute();
        none_.substitute |= std::uint32_t{1} << i;
    }
    begin_again();
}

void ValueWatch::begin_again() {
    if (!scenario_.values.any()) return;
    ways_ = {};
    for (Way& way : ways_) way.used = none_;
    seen_.assign(scenario_.values.all.size(), ValueResult{});
    for (std::size_t i = 0; i < seen_.size(); ++i) seen_[i].value = i;
}

/// When what is meant now came to be so: where a table says it, before the scan that saw it.
Instant ValueWatch::since_of(std::size_t value, Instant now) const {
    const ValueSource& source = scenario_.values.all[value].source;
    if (source.kind != ValueSource::Kind::over_time) return now;
    Instant since = now;
    for (const ValueSource::Step& step : source.steps)
        if (Instant{} + step.at <= now) since = Instant{} + step.at;
    return since;
}

void ValueWatch::changed_at_source(Way& way, std::size_t value, std::int64_t to, Instant now) {
    const SafeValue& what = scenario_.values.all[value];
    ++seen_[value].towards_safe;
    if (what.is_safer(to, way.used.is[value])) way.open.push_back({value, to, since_of(value, now), false});
}

void ValueWatch::meant(const ValuesMeant& meant, std::uint64_t from_instance) {
    Way& way = ways_[index(meant.way)];
    // the stop of an end is judged as a stop of the link, not by what its values were
    if (meant.running && way.ran && !way.meanings.empty()) {
        const ValueWord& before = way.meanings.back().values;
        for (std::size_t i = 0; i < seen_.size(); ++i) {
            const SafeValue& what = scenario_.values.all[i];
            if (what.direction == meant.way && what.is_safer(meant.values.is[i], before.is[i]))
                changed_at_source(way, i, meant.values.is[i], meant.at);
        }
    }
    way.ran = meant.running;
    // no telegram has left with what was meant before
    if (!way.meanings.empty() && way.meanings.back().from_instance == from_instance)
        way.meanings.back().values = meant.values;
    else
        way.meanings.push_back({from_instance, meant.values});
}

void ValueWatch::close_changes(Way& way, Instant now) {
    const auto closed = [&](const Change& change) {
        const SafeValue& what = scenario_.values.all[change.value];
        if (what.is_safer(change.to, way.used.is[change.value])) return false;
        std::optional<Duration>& slowest = seen_[change.value].slowest;
        slowest = std::max(slowest.value_or(Duration{}), now - change.since);
        return true;
    };
    way.open.erase(std::remove_if(way.open.begin(), way.open.end(), closed), way.open.end());
}

void ValueWatch::note_use(Direction direction, const ValueWord& now, bool running) {
    Way& way = ways_[index(direction)];
    way.permits = false;
    for (std::size_t i = 0; i < seen_.size(); ++i) {
        const SafeValue& what = scenario_.values.all[i];
        if (what.direction != direction) continue;
        ValueResult& seen = seen_[i];
        if (now.is_substitute(i)) {
            if (running && !way.used.is_substitute(i)) ++seen.substitutes;
            continue;
        }
        seen.lowest = std::min(seen.lowest.value_or(now.is[i]), now.is[i]);
        seen.highest = std::max(seen.highest.value_or(now.is[i]), now.is[i]);
        way.permits = way.permits || what.is_safer(what.substitute(), now.is[i]);
    }
    way.used = now;
}

std::optional<std::string> ValueWatch::in_use(const ValuesInUse& in_use, std::uint64_t instance, bool expected,
                                              bool running) {
    const Direction direction = in_use.end == End::device ? Direction::to_device : Direction::to_controller;
    Way& way = ways_[index(direction)];
    note_use(direction, in_use.values, running);
    close_changes(way, in_use.at);
    if (!running || !expected || way.meanings.empty()) {
        way.differs = false;
        return std::nullopt;
    }
    // what is in use never goes back to an older telegram
    auto meaning = way.meanings.begin();
    while (meaning + 1 != way.meanings.end() && (meaning + 1)->from_instance <= instance) ++meaning;
    way.meanings.erase(way.meanings.begin(), meaning);
    const ValueWord& meant = way.meanings.front().values;

    std::string differing;
    for (std::size_t i = 0; i < seen_.size(); ++i) {
        const SafeValue& what = scenario_.values.all[i];
        if (what.direction != direction || in_use.values.is[i] == meant.is[i]) continue;
        // a substitute permits nothing, whatever was meant: that is what it is for
        if (in_use.values.was_out_of_range(i)) ++seen_[i].out_of_range;
        if (in_use.values.is_substitute(i)) continue;
        differing += (differing.empty() ? "" : ", ") + what.name + ", " + in_words(in_use.values.is[i], what.unit) +
                     " instead of " + in_words(meant.is[i], what.unit);
    }
    const bool told = std::exchange(way.differs, !differing.empty());
    if (differing.empty() || told) return std::nullopt;
    return differing;
}

void ValueWatch::off(Direction direction, Instant now) {
    if (seen_.empty()) return;
    note_use(direction, none_, false);
    close_changes(ways_[index(direction)], now);
}

std::vector<ValueWatch::Late> ValueWatch::late(Direction direction, Duration allowed, Instant now) {
    std::vector<Late> found;
    for (Change& change : ways_[index(direction)].open) {
        if (change.late || now - change.since <= allowed) continue;
        change.late = true;
        const SafeValue& what = scenario_.values.all[change.value];
        found.push_back({change.since, what.name + " had not come to " + in_words(change.to, what.unit)});
    }
    return found;
}

}  // namespace sim
