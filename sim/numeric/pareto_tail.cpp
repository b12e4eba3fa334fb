#include "sim/numeric/pareto_tail.hpp"

#include <algorithm>
#include <array>
#include <cmath>  // std::ceil only: IEEE 754 rounds it exactly
#include <cstddef>
#include <functional>
#include <numeric>

#include "sim/numeric/portable_math.hpp"
#include "sim/numeric/share_interval.hpp"

namespace sim {
namespace {

using proto::Duration;

constexpr std::size_t excesses_needed = 50, excesses_most = 500, one_in = 20;
constexpr double false_rejections = 0.05;
constexpr double level_of_each = 0.025;  // two tests of the fit, and two of clusters
constexpr double coarsest_step = 0.25, least_shape = -0.5, most_shape = 1.0;
constexpr double beyond_seen = 10.0, times_central = 10.0;

/// The excesses over one threshold, rising.
struct Candidate {
    double threshold = 0.0;
    double step = 1.0;
    std::vector<double> excesses;
    std::optional<ParetoProfile> fit;
    ParetoGoodness goodness;
};

/// What all of the times, sorted, are apart by multiples of.
std::int64_t step_of(const std::vector<Duration>& sorted) {
    std::int64_t step = 0;
    for (std::size_t i = 1; i < sorted.size(); ++i) step = std::gcd(step, sorted[i].ns - sorted[i - 1].ns);
    return std::max<std::int64_t>(step, 1);
}

/// Over the value of which at most `most` are longer; equal ones spread over the step that was rounded to them.
Candidate over(const std::vector<Duration>& sorted, std::size_t most, double step) {
    Candidate candidate;
    candidate.step = step;
    const Duration level = sorted[sorted.size() - 1 - most];
    const auto first = static_cast<std::size_t>(std::upper_bound(sorted.begin(), sorted.end(), level) - sorted.begin());
    candidate.threshold = static_cast<double>(level.ns) + candidate.step / 2.0;
    for (std::size_t i = first; i < sorted.size();) {
        std::size_t end = i + 1;
        while (end < sorted.size() && sorted[end] == sorted[i]) ++end;
        const double from = static_cast<double>(sorted[i].ns) - candidate.step / 2.0 - candidate.threshold;
        const auto alike = static_cast<double>(end - i);
        for (std::size_t j = i; j < end; ++j)
            candidate.excesses.push_back(from + candidate.step * (static_cast<double>(j - i) + 0.5) / alike);
        i = end;
    }
    return candidate;
}

void fit_to(Candidate& candidate, std::uint64_t of) {
    candidate.fit = ParetoProfile::of(candidate.excesses, of);
    if (!candidate.fit) return;
    std::vector<double> above;
    above.reserve(candidate.excesses.size());
    for (const double excess : candidate.excesses) {
        above.push_back(candidate.fit->above(excess));
        if (!(above.back() > 0.0 && above.back() < 1.0)) return candidate.fit.reset();  // no law with that end
    }
    candidate.goodness = pareto_goodness(above, candidate.fit->shape());
}

/// From the lowest threshold to the highest; each with fewer above it than the one before.
std::vector<Candidate> candidates_of(const std::vector<Duration>& series) {
    std::vector<Candidate> candidates;
    const std::size_t most = std::min(excesses_most, series.size() / one_in);
    if (most < excesses_needed) return candidates;
    std::vector<Duration> sorted(most + 1);  // the longest, and the lowest threshold
    std::partial_sort_copy(series.begin(), series.end(), sorted.begin(), sorted.end(), std::greater<>());
    std::reverse(sorted.begin(), sorted.end());
    const auto step = static_cast<double>(step_of(sorted));
    for (std::size_t wanted = most; wanted >= excesses_needed;) {
        Candidate candidate = over(sorted, wanted, step);
        const bool fewer = candidates.empty() || candidate.excesses.size() < candidates.back().excesses.size();
        if (candidate.excesses.size() >= excesses_needed && fewer) {
            fit_to(candidate, series.size());
            candidates.push_back(std::move(candidate));
        }
        const std::size_t next = wanted * 4 / 5;
        wanted = wanted > excesses_needed ? std::max(next, excesses_needed) : 0;
    }
    return candidates;
}

/// How many thresholds, from the lowest on, are given up (ForwardStop: G'Sell and others, Journal of the Royal
/// Statistical Society B 78, 2016).
std::size_t given_up(const std::vector<Candidate>& candidates) {
    double sum = 0.0;
    std::size_t count = 0;
    for (std::size_t k = 0; k < candidates.size(); ++k) {
        const double p = candidates[k].fit ? candidates[k].goodness.anderson_darling.p : 0.0;
        sum -= portable_log1p(-p);
        if (sum <= false_rejections * static_cast<double>(k + 1)) count = k + 1;
    }
    return count;
}

/// Whether three share the longest time though steps are fine, or the topmost part of the excesses holds more than a
/// density that falls, or stays, can have there: beside the four parts of equal width below it, the longest left out, a
/// binomial count with 1/5.
bool is_piled_up(const Candidate& candidate) {
    const std::vector<double>& excesses = candidate.excesses;
    const double longest = excesses.back();
    const auto over_height = [&](double height) {
        return excesses.end() - std::upper_bound(excesses.begin(), excesses.end(), height);
    };
    constexpr double fine = 0.01;
    if (candidate.step <= fine * longest && over_height(longest - candidate.step) >= 3) return true;
    constexpr std::array widths{0.01, 0.02, 0.05, 0.1};
    constexpr double level = 0.01 / static_cast<double>(widths.size()), share = 0.2;
    return std::any_of(widths.begin(), widths.end(), [&](double width) {
        const auto top = static_cast<double>(over_height(longest * (1.0 - width)) - 1);
        const auto all = static_cast<double>(over_height(longest * (1.0 - 5.0 * width)) - 1);
        return top >= 1.0 && beta_below(top, all - top + 1.0, share) < level;
    });
}

/// The height over the threshold up to which `holds`, which it does from 0 on.
template <class Holds>
double height_where(double scale, Holds holds) {
    double low = 0.0, high = scale;
    constexpr int doublings = 200, halvings = 60;
    for (int i = 0; i < doublings && holds(high); ++i, high *= 2.0) low = high;
    for (int i = 0; i < halvings; ++i) {
        const double middle = low + (high - low) * 0.5;
        (holds(middle) ? low : high) = middle;
    }
    return low;
}

double reach_of(const ParetoProfile& fit) {
    const double least = 1.0 / (beyond_seen * static_cast<double>(fit.values()));
    const double seen_often = height_where(fit.scale(), [&](double height) {
        return fit.above(height) * static_cast<double>(fit.excesses()) / static_cast<double>(fit.values()) >= least;
    });
    const auto is_known = [&](double height) {
        const ShareAbove share = fit.share_above(height);
        return share.high <= times_central * share.central;
    };
    if (is_known(seen_often)) return seen_often;
    double low = 0.0, high = seen_often;
    constexpr int halvings = 40;
    for (int i = 0; i < halvings; ++i) {
        const double middle = low + (high - low) * 0.5;
        (is_known(middle) ? low : high) = middle;
    }
    return low;
}

void doubt_the_fit(ParetoTail& tail, const std::vector<Duration>& series, const Candidate& taken) {
    const ParetoProfile& fit = *tail.fit;
    const auto doubt = [&](TailDoubt why, bool holds) {
        if (holds) tail.doubts.push_back(why);
    };
    doubt(TailDoubt::piled_up, is_piled_up(taken));
    tail.clusters = cluster_test(exceedances_of(series, Duration{static_cast<std::int64_t>(tail.threshold_ns)}));
    doubt(TailDoubt::clustered, std::min(tail.clusters->runs_p, tail.clusters->intervals_p) < level_of_each);
    doubt(TailDoubt::too_coarse, tail.step_ns > coarsest_step * fit.scale());
    doubt(TailDoubt::bad_fit,
          std::min(tail.goodness.anderson_darling.p, tail.goodness.cramer_von_mises.p) < level_of_each);
    doubt(TailDoubt::short_end, fit.shape() < least_shape);
    doubt(TailDoubt::too_heavy, fit.shape_interval().high >= most_shape);
    tail.reach_ns = tail.threshold_ns + reach_of(fit);
    doubt(TailDoubt::no_reach, tail.reach_ns <= static_cast<double>(tail.longest.ns));
}

}  // namespace

ParetoTail pareto_tail(const std::vector<Duration>& series, std::uint64_t unanswered) {
    ParetoTail tail;
    tail.values = series.size();
    if (unanswered != 0) tail.doubts.push_back(TailDoubt::unanswered);
    if (!series.empty()) tail.longest = *std::max_element(series.begin(), series.end());
    std::vector<Candidate> candidates = candidates_of(series);
    if (candidates.empty()) {
        tail.doubts.push_back(TailDoubt::too_few);
        return tail;
    }
    tail.thresholds_tried = candidates.size();
    tail.thresholds_given_up = given_up(candidates);
    const bool none_left = tail.thresholds_given_up == candidates.size();
    Candidate& taken = candidates[none_left ? candidates.size() - 1 : tail.thresholds_given_up];
    tail.threshold_ns = taken.threshold;
    tail.step_ns = taken.step;
    tail.goodness = taken.goodness;
    tail.fit = std::move(taken.fit);
    if (tail.fit) doubt_the_fit(tail, series, taken);
    if (tail.fit && !none_left) return tail;
    // the pile is what somebody can mend, so it is said too
    const auto doubt_once = [&](TailDoubt why) {
        if (std::find(tail.doubts.begin(), tail.doubts.end(), why) == tail.doubts.end()) tail.doubts.push_back(why);
    };
    if (is_piled_up(candidates.front())) doubt_once(TailDoubt::piled_up);
    doubt_once(TailDoubt::bad_fit);
    return tail;
}

}  // namespace sim
