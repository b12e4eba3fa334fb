#include "sim/numeric/pareto_profile.hpp"

#include <algorithm>
#include <array>
#include <cmath>  // std::sqrt and std::abs only: IEEE 754 rounds them exactly
#include <cstddef>
#include <limits>

#include "sim/numeric/portable_math.hpp"

namespace sim {
namespace {

/// Half the 95 % point of chi-square with one degree of freedom.
constexpr double allowed = 1.920729410347062;
constexpr std::size_t needed = 10;
constexpr double least_shape = -1.0, most_shape = 4.0;
constexpr std::size_t looked_at = 161;
constexpr int halvings = 60;

/// log(1 + t y) / t, which is y for t = 0.
double exponential_of(double t, double y) {
    constexpr double tiny = 1e-12;
    return std::abs(t * y) < tiny ? y : portable_log1p(t * y) / t;
}

double mean_exponential(const std::vector<double>& excesses, double t) {
    double sum = 0.0;
    for (const double y : excesses) sum += exponential_of(t, y);
    return sum / static_cast<double>(excesses.size());
}

/// Where `wanted` begins between `in`, where it holds, and `out`, where it does not.
template <class Wanted>
double edge(double in, double out, Wanted wanted) {
    for (int i = 0; i < halvings; ++i) {
        const double middle = in + (out - in) * 0.5;
        (wanted(middle) ? in : out) = middle;
    }
    return in;
}

/// The likelihood of t: minus its logarithm a value, less 1, at the best scale.
class Search {
  public:
    explicit Search(const std::vector<double>& excesses) : excesses_(excesses) {
        longest_ = *std::max_element(excesses.begin(), excesses.end());
        mean_ = mean_exponential(excesses, 0.0);
        const auto shape_at = [&](double t) { return t * mean_exponential(excesses_, t); };
        // the smallest t has a pole at the longest excess; the double next to it is still to be reckoned with
        low_ = edge(0.0, -1.0 / longest_ * (1.0 - 1e-15), [&](double t) { return shape_at(t) >= least_shape; });
        double high = 1.0 / mean_;
        while (shape_at(high) < most_shape && high < 1e12 / mean_) high *= 4.0;
        high_ = edge(0.0, high, [&](double t) { return shape_at(t) <= most_shape; });
    }
    [[nodiscard]] double cost(double t) const {
        const double w = mean_exponential(excesses_, t);
        return portable_log(w) + t * w;
    }
    [[nodiscard]] double low() const { return low_; }
    [[nodiscard]] double high() const { return high_; }

    /// The best t, among the coarse grid's and then nearer; there may be more than one valley.
    [[nodiscard]] std::optional<double> best() const {
        std::vector<double> grid;
        for (const double part : {1.0, 0.98, 0.93, 0.85, 0.7, 0.5, 0.3, 0.15, 0.05}) grid.push_back(low_ * part);
        grid.push_back(0.0);
        constexpr int steps = 18;
        constexpr double factor = 0.5;
        const std::size_t zero = grid.size();
        double t = high_;
        for (int i = 0; i < steps; ++i, t *= factor) grid.push_back(t);
        std::reverse(grid.begin() + static_cast<std::ptrdiff_t>(zero), grid.end());
        std::vector<double> costs;
        costs.reserve(grid.size());
        for (const double at : grid) costs.push_back(cost(at));
        const auto least = static_cast<std::size_t>(std::min_element(costs.begin(), costs.end()) - costs.begin());
        if (least == 0 || least + 1 == grid.size()) return std::nullopt;
        return narrowed(grid[least - 1], grid[least + 1]);
    }

  private:
    /// Golden section.
    [[nodiscard]] double narrowed(double low, double high) const {
        constexpr double golden = 0.6180339887498949;
        double a = high - golden * (high - low), b = low + golden * (high - low);
        double at_a = cost(a), at_b = cost(b);
        constexpr int steps = 48;
        for (int i = 0; i < steps; ++i) {
            if (at_a < at_b) {
                high = b;
                b = a;
                at_b = at_a;
                a = high - golden * (high - low);
                at_a = cost(a);
            } else {
                low = a;
                a = b;
                at_a = at_b;
                b = low + golden * (high - low);
                at_b = cost(b);
            }
        }
        return low + (high - low) * 0.5;
    }

    const std::vector<double>& excesses_;
    double longest_ = 0.0, mean_ = 0.0, low_ = 0.0, high_ = 0.0;
};

/// The root of a rising function, from `low` with a value not above 0 on: by Newton's method, kept within bounds.
template <class Function>
double root(double low, double high, double start, Function value_and_slope) {
    double x = start;
    constexpr int steps = 60;
    for (int i = 0; i < steps; ++i) {
        const auto [value, slope] = value_and_slope(x);
        (value > 0.0 ? high : low) = x;
        double next = x - value / slope;
        if (!(next > low && next < high)) next = low + (high - low) * 0.5;
        if (std::abs(next - x) <= 1e-13 * std::abs(x)) return next;
        x = next;
    }
    return x;
}

enum class Side : std::uint8_t { below, above };

struct Counts {
    double excesses, values;
};

/// The limit of the logarithm of a share on one side, where the share is (excesses / values) exp(-reach) at the best
/// scale and `left` of the likelihood may be given away. With the multiplier m of that constraint the count is (k + m)
/// of (n + m), and the excesses' mean is stretched by 1 + m reach / k.
double limit_of(const Counts& of, double reach, double left, Side side) {
    const double k = of.excesses, n = of.values;
    const double sign = side == Side::above ? 1.0 : -1.0;
    const auto stretch = [&](double m) { return m * reach / k; };
    const auto cost = [&](double size) {
        const double m = sign * size, q = stretch(m);
        const double value =
            n * portable_log1p(m / n) - k * portable_log1p(m / k) + k * (portable_log1p(q) - q / (1.0 + q)) - left;
        const double slope = m * (n - k) / ((n + m) * (k + m)) + reach * q / ((1.0 + q) * (1.0 + q));
        return std::array{value, sign * slope};
    };
    double most = std::min(k, k / std::max(reach, 1e-300)) * (1.0 - 1e-14);
    if (side == Side::above) {
        most = k;
        while (cost(most)[0] < 0.0) most *= 2.0;
    }
    const double curvature = 1.0 / k - 1.0 / n + reach * reach / k;
    const double start = std::min(std::sqrt(2.0 * left / curvature), most * 0.5);
    const double m = sign * (left > 0.0 ? root(0.0, most, start, cost) : 0.0);
    return portable_log((k + m) / (n + m)) - reach / (1.0 + stretch(m));
}

/// The largest of values at even places, with the top of the parabola through it and its neighbours.
double top_of(const std::vector<double>& values) {
    const auto at = static_cast<std::size_t>(std::max_element(values.begin(), values.end()) - values.begin());
    if (at == 0 || at + 1 == values.size()) return values[at];
    const double before = values[at - 1], after = values[at + 1], bend = before - 2.0 * values[at] + after;
    const bool smooth = bend < 0.0 && before > -std::numeric_limits<double>::infinity() &&
                        after > -std::numeric_limits<double>::infinity();
    return smooth ? values[at] - (after - before) * (after - before) / (8.0 * bend) : values[at];
}

/// 1 / v where k (v - 1 - log v) is `left`, on the side of larger or smaller v: how far the scale may be off.
double stretch_within(double left, double k, Side side) {
    const double sign = side == Side::above ? 1.0 : -1.0;
    const auto cost = [&](double size) {
        const double q = sign * size;
        return std::array{k * (portable_log1p(q) - q / (1.0 + q)) - left, sign * k * q / ((1.0 + q) * (1.0 + q))};
    };
    double most = 1.0 - 1e-14;
    if (side == Side::above) {
        most = 1.0;
        while (cost(most)[0] < 0.0) most *= 2.0;
    }
    if (!(left > 0.0)) return 1.0;
    return 1.0 + sign * root(0.0, most, std::min(std::sqrt(2.0 * left / k), most * 0.5), cost);
}

}  // namespace

std::optional<ParetoProfile> ParetoProfile::of(const std::vector<double>& excesses, std::uint64_t of) {
    if (excesses.size() < needed) return std::nullopt;
    const std::optional<double> best = Search(excesses).best();
    if (!best) return std::nullopt;
    ParetoProfile profile;
    profile.t_ = *best;
    profile.scale_ = mean_exponential(excesses, *best);
    profile.shape_ = *best * profile.scale_;
    profile.excesses_ = excesses.size();
    profile.values_ = of;
    profile.log_likelihood_ =
        -static_cast<double>(excesses.size()) * (portable_log(profile.scale_) + 1.0 + profile.shape_);
    profile.look_around(excesses);
    return profile;
}

void ParetoProfile::look_around(const std::vector<double>& excesses) {
    const Search search(excesses);
    const auto k = static_cast<double>(excesses_);
    const double least = search.cost(t_);
    const auto possible = [&](double t) { return k * (search.cost(t) - least) <= allowed; };
    const double low = possible(search.low()) ? search.low() : edge(t_, search.low(), possible);
    const double high = possible(search.high()) ? search.high() : edge(t_, search.high(), possible);
    std::array<std::vector<double>, 4> ends;
    for (std::size_t i = 0; i < looked_at; ++i) {
        const double t = low + (high - low) * static_cast<double>(i) / static_cast<double>(looked_at - 1);
        const double w = mean_exponential(excesses, t);
        const double left = std::max(0.0, allowed - k * (portable_log(w) + t * w - least));
        points_.push_back({t, w, left});
        const double longer = w * stretch_within(left, k, Side::above);
        const double shorter = w * stretch_within(left, k, Side::below);
        ends[0].push_back(std::max(t * longer, t * shorter));
        ends[1].push_back(-std::min(t * longer, t * shorter));
        ends[2].push_back(longer);
        ends[3].push_back(-shorter);
    }
    shape_interval_ = {-top_of(ends[1]), top_of(ends[0])};
    scale_interval_ = {-top_of(ends[3]), top_of(ends[2])};
}

double ParetoProfile::above(double height) const {
    if (t_ * height <= -1.0) return 0.0;
    return portable_exp(-exponential_of(t_, height) / scale_);
}

ShareAbove ParetoProfile::share_above(double height) const {
    const Counts counts{static_cast<double>(excesses_), static_cast<double>(values_)};
    std::vector<double> most, least;
    for (const Point& point : points_) {
        constexpr double nothing = std::numeric_limits<double>::infinity();
        if (point.t * height <= -1.0) {
            most.push_back(-nothing);
            least.push_back(nothing);
            continue;
        }
        const double reach = exponential_of(point.t, height) / point.w;
        most.push_back(limit_of(counts, reach, point.left, Side::above));
        least.push_back(-limit_of(counts, reach, point.left, Side::below));
    }
    ShareAbove share;
    share.central = counts.excesses / counts.values * above(height);
    share.high = std::max(share.central, portable_exp(top_of(most)));
    share.low = std::min(share.central, portable_exp(-top_of(least)));
    return share;
}

}  // namespace sim
