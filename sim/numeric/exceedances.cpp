#include "sim/numeric/exceedances.hpp"

#include <algorithm>
#include <functional>

#include "proto/contract.hpp"
#include "sim/numeric/counting_laws.hpp"

namespace sim {
namespace {

using proto::Duration;

constexpr std::size_t needed = 200, least = 20, one_in = 100;

/// From each exceedance to the next, in values.
std::vector<std::uint64_t> intervals_of(const Exceedances& late) {
    std::vector<std::uint64_t> intervals;
    intervals.reserve(late.places.size() - 1);
    for (std::size_t i = 1; i < late.places.size(); ++i) intervals.push_back(late.places[i] - late.places[i - 1]);
    return intervals;
}

double square(double x) { return x * x; }

double index_by(const std::vector<std::uint64_t>& intervals) {
    const auto count = static_cast<double>(intervals.size());
    double sum = 0.0, squares = 0.0, less_one = 0.0, products = 0.0;
    for (const std::uint64_t interval : intervals) {
        const auto t = static_cast<double>(interval);
        sum += t;
        squares += t * t;
        less_one += t - 1.0;
        products += (t - 1.0) * (t - 2.0);
    }
    const bool all_short = *std::max_element(intervals.begin(), intervals.end()) <= 2;
    const double index =
        all_short ? 2.0 * square(sum) / (count * squares) : 2.0 * square(less_one) / (count * products);
    return std::min(1.0, index);
}

/// The longest interval that still lies within a cluster: with the index about index * n intervals are between
/// clusters, the longest; of equal ones none, so that the order of the file does not decide.
std::uint64_t within_cluster(std::vector<std::uint64_t> intervals, double index, std::size_t exceedances) {
    std::sort(intervals.begin(), intervals.end(), std::greater<>());
    const auto between = static_cast<std::size_t>(index * static_cast<double>(exceedances));
    return between >= intervals.size() ? 0 : intervals[between];
}

}  // namespace

Exceedances exceedances_of(const std::vector<Duration>& series, Duration level) {
    Exceedances late{.places = {}, .of = series.size(), .above = level};
    for (std::size_t i = 0; i < series.size(); ++i)
        if (series[i] > level) late.places.push_back(i);
    return late;
}

std::optional<Exceedances> longest_of_all(const std::vector<Duration>& series) {
    if (series.size() < needed) return std::nullopt;
    const std::size_t wanted = std::max(least, series.size() / one_in);
    std::vector<Duration> parted = series;
    const auto place = parted.end() - 1 - static_cast<std::ptrdiff_t>(wanted);
    std::nth_element(parted.begin(), place, parted.end());
    const Duration level = *place;
    const auto longer = std::count_if(place, parted.end(), [&](Duration value) { return value > level; });
    if (static_cast<std::size_t>(longer) >= wanted / 2) return exceedances_of(series, level);
    // a heap of equal ones at the level: with it, if that is still a part that can be called the longest
    const auto heap = std::count(parted.begin(), parted.end(), level);
    if (static_cast<std::size_t>(longer + heap) > parted.size() / 4) return std::nullopt;
    return exceedances_of(series, Duration{level.ns - 1});
}

ClusterTest cluster_test(const Exceedances& late) {
    const std::size_t count = late.places.size();
    proto::require(count >= 3 && late.of >= count, "too few exceedances");
    const std::vector<std::uint64_t> intervals = intervals_of(late);
    ClusterTest test;
    test.exceedances = count;
    test.above = late.above;
    const std::uint64_t others = late.of - count;
    test.runs = 1;
    std::uint64_t total = 0;
    double products = 0.0;
    for (const std::uint64_t interval : intervals) {
        test.runs += interval > 1 ? 1 : 0;
        total += interval - 1;
        products += static_cast<double>(interval - 1) * (static_cast<double>(interval) - 2.0);
    }
    test.runs_expected = static_cast<double>(count) * static_cast<double>(others + 1) / static_cast<double>(late.of);
    test.runs_p = groups_p(count, others, test.runs);
    test.extremal_index = index_by(intervals);
    test.intervals_p = total < 2 ? 1.0 : spacings_p(total, intervals.size(), products);
    const std::uint64_t within = within_cluster(intervals, test.extremal_index, count);
    test.clusters = 1;
    std::uint64_t length = 1;
    for (const std::uint64_t interval : intervals) {
        const bool together = interval <= within;
        test.clusters += together ? 0 : 1;
        length = together ? length + interval : 1;
        test.longest_cluster = std::max(test.longest_cluster, length);
    }
    return test;
}

}  // namespace sim
