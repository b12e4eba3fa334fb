#include "sim/numeric/dependence.hpp"

#include <algorithm>
#include <cmath>  // std::sqrt and std::abs only: IEEE 754 rounds them exactly
#include <cstddef>

#include "proto/contract.hpp"
#include "sim/numeric/counting_laws.hpp"
#include "sim/numeric/portable_math.hpp"

namespace sim {
namespace {

using proto::Duration;

constexpr std::uint64_t lags_most = 20;
constexpr std::size_t quiet_lags = 20;
constexpr std::size_t block_needs = 40;
constexpr std::size_t products_most = 400'000'000;
constexpr double z_95 = 1.959963984540054;

/// Twice the ranks less their mean: whole numbers, halves included.
std::vector<double> centred_ranks(const std::vector<Duration>& series) {
    struct Placed {
        Duration value;
        std::size_t place;
    };
    std::vector<Placed> order;
    order.reserve(series.size());
    for (std::size_t i = 0; i < series.size(); ++i) order.push_back({series[i], i});
    std::sort(order.begin(), order.end(), [](const Placed& a, const Placed& b) { return a.value < b.value; });
    std::vector<double> ranks(series.size());
    for (std::size_t i = 0; i < order.size();) {
        std::size_t end = i + 1;
        while (end < order.size() && order[end].value == order[i].value) ++end;
        // of places i to end - 1: the mean is (i + end - 1) / 2, that of all (n - 1) / 2
        const double rank = static_cast<double>(i + end) - static_cast<double>(series.size());
        for (; i < end; ++i) ranks[order[i].place] = rank;
    }
    return ranks;
}

double product_at(const std::vector<double>& ranks, std::size_t lag) {
    double sum = 0.0;
    for (std::size_t i = lag; i < ranks.size(); ++i) sum += ranks[i] * ranks[i - lag];
    return sum;
}

RankCorrelations correlations_of(const std::vector<double>& ranks, std::uint64_t lags) {
    RankCorrelations found;
    const double all = product_at(ranks, 0);
    if (!(all > 0.0) || lags == 0) return found;
    const auto n = static_cast<double>(ranks.size());
    for (std::uint64_t lag = 1; lag <= lags; ++lag) {
        const double r = product_at(ranks, lag) / all;
        found.by_lag.push_back(r);
        found.q += n * (n + 2.0) * r * r / (n - static_cast<double>(lag));
    }
    found.p = gamma_above(static_cast<double>(lags) / 2.0, found.q / 2.0);
    return found;
}

/// The first lag of quiet_lags in a row that are small; nothing within what is looked at.
std::optional<std::uint64_t> first_quiet_lag(const std::vector<double>& ranks) {
    const double all = product_at(ranks, 0);
    const std::size_t n = ranks.size();
    if (n < block_needs || !(all > 0.0)) return std::nullopt;
    constexpr double ln_10 = 2.302585092994046;
    const double log10_n = portable_log(static_cast<double>(n)) / ln_10;
    const double band = z_95 * std::sqrt(log10_n / static_cast<double>(n));
    const std::size_t most = std::min(n / 10, products_most / n);
    std::size_t quiet = 0;
    for (std::size_t lag = 1; lag < most + quiet_lags && lag < n; ++lag) {
        quiet = std::abs(product_at(ranks, lag) / all) < band ? quiet + 1 : 0;
        if (quiet == quiet_lags) return lag + 1 - quiet_lags;
    }
    return std::nullopt;
}

}  // namespace

RunsTest runs_about_median(const std::vector<Duration>& series) {
    RunsTest test;
    if (series.empty()) return test;
    std::vector<Duration> halves = series;
    // of an even number the upper of both in the middle: nothing lies between them
    const auto middle = halves.begin() + static_cast<std::ptrdiff_t>(halves.size() / 2);
    std::nth_element(halves.begin(), middle, halves.end());
    const Duration median = *middle;
    const auto below = std::count_if(series.begin(), series.end(), [&](Duration value) { return value < median; });
    const auto above = std::count_if(series.begin(), series.end(), [&](Duration value) { return value > median; });
    const bool median_is_above = below >= above;
    const auto is_above = [&](Duration value) { return median_is_above ? value >= median : value > median; };
    for (std::size_t i = 0; i < series.size(); ++i) {
        const bool high = is_above(series[i]);
        (high ? test.above : test.below) += 1;
        if (i == 0 || high != is_above(series[i - 1])) ++test.runs;
    }
    if (test.above == 0 || test.below == 0) return test;
    const auto a = static_cast<double>(test.above), b = static_cast<double>(test.below), n = a + b;
    test.expected = 1.0 + 2.0 * a * b / n;
    const double variance = 2.0 * a * b * (2.0 * a * b - n) / (n * n * (n - 1.0));
    if (variance > 0.0) test.z = (static_cast<double>(test.runs) - test.expected) / std::sqrt(variance);
    test.p = runs_p(test.above, test.below, test.runs);
    return test;
}

RankCorrelations rank_correlations(const std::vector<Duration>& series, std::uint64_t lags) {
    proto::require(lags < series.size(), "more lags than values");
    return correlations_of(centred_ranks(series), lags);
}

Dependence dependence_of(const std::vector<Duration>& series) {
    Dependence found;
    found.count = series.size();
    if (series.size() < 3) return found;
    const std::vector<double> ranks = centred_ranks(series);
    found.runs = runs_about_median(series);
    found.correlations = correlations_of(ranks, std::min<std::uint64_t>(lags_most, series.size() / 5));
    if (const auto late = longest_of_all(series)) found.late = cluster_test(*late);

    std::vector<double> p{found.runs.p, found.correlations.p};
    if (found.late) p.insert(p.end(), {found.late->runs_p, found.late->intervals_p});
    found.p_asked = dependence_level / static_cast<double>(p.size());
    if (*std::min_element(p.begin(), p.end()) < found.p_asked)
        found.verdict = DependenceVerdict::dependent;
    else if (found.late && found.count >= dependence_needs)
        found.verdict = DependenceVerdict::independent_as_far_as_seen;

    found.block_length = first_quiet_lag(ranks);
    if (found.block_length && found.late)
        found.block_length = std::max(*found.block_length, found.late->longest_cluster);
    if (found.block_length && *found.block_length > series.size() / 10) found.block_length.reset();
    return found;
}

}  // namespace sim
