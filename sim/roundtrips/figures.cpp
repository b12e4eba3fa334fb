#include "sim/roundtrips/figures.hpp"

#include <algorithm>

#include "proto/contract.hpp"

namespace sim {
namespace {

using proto::Duration;

/// Hundredths of the decade's begin.
constexpr int preferred[] = {100, 112, 125, 140, 160, 180, 200, 224, 250, 280,
                             315, 355, 400, 450, 500, 560, 630, 710, 800, 900};

std::vector<Duration> lines_of(const RoundTrips& run) {
    std::vector<Duration> times;
    for (const RoundTrip& each : run.sent)
        if (each.answered()) times.push_back(each.line);
    return times;
}

}  // namespace

std::optional<Spread> spread_of(std::vector<Duration> times) {
    if (times.empty()) return std::nullopt;
    const auto at = [&times](std::size_t of_hundred) {
        const std::size_t place = std::min(times.size() * of_hundred / 100, times.size() - 1);
        std::nth_element(times.begin(), times.begin() + static_cast<std::ptrdiff_t>(place), times.end());
        return times[place];
    };
    return Spread{at(50), at(99), at(100)};
}

RoundTripFigures figures_of(const RoundTrips& run) {
    RoundTripFigures figures;
    figures.sent = run.sent.size();
    std::vector<Duration> after, late;
    for (const RoundTrip& each : run.sent) {
        late.push_back(each.own_lateness);
        if (each.answered()) after.push_back(each.answered_after);
    }
    figures.lost = figures.sent - after.size();
    figures.line = spread_of(lines_of(run));
    figures.answered_after = spread_of(std::move(after));
    figures.own_lateness = spread_of(std::move(late));
    return figures;
}

std::vector<Gap> gaps_of(const RoundTrips& run) {
    std::vector<Gap> gaps;
    bool in_gap = false;
    for (std::size_t i = 0; i < run.sent.size(); ++i) {
        const RoundTrip& each = run.sent[i];
        if (each.answered()) {
            in_gap = false;
            continue;
        }
        if (!in_gap) gaps.push_back({i, 0, each.at, {}});
        in_gap = true;
        ++gaps.back().count;
        gaps.back().to = each.at;
    }
    return gaps;
}

std::vector<Slice> slices_of(const RoundTrips& run, std::size_t most) {
    proto::require(most > 0, "a run has one slice at least");
    if (run.sent.empty()) return {};
    const std::size_t count = std::min(most, run.sent.size());
    const std::int64_t length = run.sent.back().at.ns / static_cast<std::int64_t>(count) + 1;
    std::vector<Slice> slices(count);
    std::vector<std::vector<Duration>> times(count);
    for (std::size_t i = 0; i < count; ++i) slices[i].from = {length * static_cast<std::int64_t>(i)};
    for (const RoundTrip& each : run.sent) {
        const auto place = static_cast<std::size_t>(each.at.ns / length);
        ++slices[place].sent;
        if (each.answered())
            times[place].push_back(each.line);
        else
            ++slices[place].lost;
    }
    for (std::size_t i = 0; i < count; ++i) slices[i].line = spread_of(std::move(times[i]));
    return slices;
}

std::vector<TimeCell> histogram_of(const RoundTrips& run) {
    std::vector<Duration> times = lines_of(run);
    if (times.empty()) return {};
    std::sort(times.begin(), times.end());
    std::vector<TimeCell> cells;
    auto from = times.begin();
    Duration low{};
    for (std::int64_t decade = 100; from != times.end(); decade *= 10) {
        for (const int hundredths : preferred) {
            const Duration high{decade * hundredths / 100};
            const auto to = std::lower_bound(from, times.end(), high);
            const bool some = to != from;
            if (some || !cells.empty()) cells.push_back({low, high, static_cast<std::uint64_t>(to - from)});
            from = to;
            low = high;
            if (from == times.end()) break;
        }
    }
    return cells;
}

std::vector<std::size_t> longest_of(const RoundTrips& run, std::size_t most) {
    std::vector<std::size_t> places;
    for (std::size_t i = 0; i < run.sent.size(); ++i)
        if (run.sent[i].answered()) places.push_back(i);
    const auto longer = [&run](std::size_t a, std::size_t b) {
        return run.sent[a].line != run.sent[b].line ? run.sent[a].line > run.sent[b].line : a < b;
    };
    const auto end = places.begin() + static_cast<std::ptrdiff_t>(std::min(most, places.size()));
    std::partial_sort(places.begin(), end, places.end(), longer);
    places.erase(end, places.end());
    return places;
}

}  // namespace sim
