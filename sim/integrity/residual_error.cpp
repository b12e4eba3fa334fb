#include "sim/integrity/residual_error.hpp"

#include <algorithm>
#include <cmath>  // std::sqrt only: IEEE 754 rounds it exactly

#include "proto/contract.hpp"
#include "sim/numeric/portable_math.hpp"

namespace sim {
namespace {

const ScaledReal one(1U);

/// C(n, k) for k = 0..n: the products stay exact to the last digit or two.
std::vector<ScaledReal> binomials(unsigned n) {
    std::vector<ScaledReal> row(n + 1);
    row[0] = one;
    for (unsigned k = 1; k <= n; ++k) row[k] = row[k - 1] * ScaledReal(n - k + 1) / ScaledReal(k);
    return row;
}

/// Rates from `low` to 0.5, each the same factor above the one before.
std::vector<double> rates_from(double low, unsigned count) {
    std::vector<double> rates(count);
    const double step = portable_exp(portable_log(0.5 / low) / (count - 1));
    double rate = low;
    for (double& each : rates) {
        each = std::min(rate, 0.5);
        rate *= step;
    }
    rates.back() = 0.5;
    return rates;
}

/// Where the largest value over the rates is, refined between the neighbours of the best one by the golden section.
template <class F>
double place_of_largest(const std::vector<double>& rates, F f) {
    std::size_t best = rates.size() - 1;
    auto value = f(rates[best]);
    for (std::size_t i = 0; i + 1 < rates.size(); ++i) {
        const auto here = f(rates[i]);
        if (!(here > value)) continue;
        best = i;
        value = here;
    }
    double place = rates[best];
    if (best + 1 == rates.size()) return place;
    double low = rates[best == 0 ? 0 : best - 1], high = rates[best + 1];
    const double golden = (std::sqrt(5.0) - 1) / 2;
    const auto look_at = [&](double rate, const auto& here) {
        if (!(here > value)) return;
        place = rate;
        value = here;
    };
    for (int i = 0; i < 40; ++i) {
        const double left = high - golden * (high - low), right = low + golden * (high - low);
        const auto at_left = f(left), at_right = f(right);
        look_at(left, at_left);
        look_at(right, at_right);
        (at_left > at_right ? high : low) = at_left > at_right ? right : left;
    }
    return place;
}

template <class F>
AtRate largest(const std::vector<double>& rates, F f) {
    const double place = place_of_largest(rates, f);
    return {place, f(place)};
}

/// What sums over the numbers of wrong bits are made of: the probability of none, and the factor for each more. Of two
/// copies the same bits must be wrong.
struct Terms {
    ScaledReal none, ratio;
};
Terms terms_of(unsigned bits, unsigned copies, double p) {
    const ScaledReal good = apart(one, ScaledReal(p));
    const ScaledReal ratio = ScaledReal(p) / good;
    return {power_of(good, std::uint64_t{bits} * copies), copies == 2 ? ratio * ratio : ratio};
}

/// Whether as many as 2^24 times `count * term` are nothing beside `total`, told from the exponents alone.
bool is_nothing(ScaledReal count, ScaledReal term, ScaledReal total) {
    constexpr std::int64_t digits = 66, times = 24, mantissas = 128, mantissa = 63;
    return count.exponent() + term.exponent() + mantissas + times + digits < total.exponent() + mantissa;
}

/// Sum of counts[k] p^k q^(n - k), or for two copies of counts[k] p^2k q^2(n - k). `all`: none of the counts is more,
/// from the first of them on that is not 0, and there it is C(n, k).
ScaledReal weighted(const std::vector<ScaledReal>& counts, const std::vector<ScaledReal>& all, unsigned copies,
                    double p) {
    if (p <= 0) return {};
    const auto bits = static_cast<unsigned>(counts.size() - 1);
    auto [term, ratio] = terms_of(bits, copies, p);
    ScaledReal total;
    for (unsigned k = 0; k <= bits; ++k, term *= ratio) {
        if (!counts[k].is_zero()) total += counts[k] * term;
        // those of all patterns fall from the middle on
        if (k > p * bits && !all[k].is_zero() && is_nothing(all[k], term, total)) break;
    }
    return total;
}

constexpr unsigned grid = 700;

}  // namespace

/// A difference with its sign.
struct ResidualError::Above {
    ScaledReal size;
    bool below = false;

    [[nodiscard]] bool operator>(const Above& other) const {
        if (below != other.below) return other.below && !(size.is_zero() && other.size.is_zero());
        return below ? size < other.size : size > other.size;
    }
    static Above of(ScaledReal more, ScaledReal less) { return {apart(more, less), more < less}; }
};

ResidualError::ResidualError(const WeightDistribution& weights, unsigned copies)
    : width_(weights.generator.width), bits_(weights.bits()), copies_(copies) {
    proto::require(copies == 1 || copies == 2, "ResidualError: one copy or two");
    for (const WideNumber& count : weights.code) code_.push_back(count.approximate());
    code_[0] = ScaledReal();
    all_ = binomials(bits_);
    std::fill_n(all_.begin(), weights.hamming_distance(), ScaledReal());
    for (const std::uint64_t count : weights.dual) dual_.emplace_back(count);
    dual_[0] = ScaledReal(weights.dual[0] - 1);
}

ScaledReal ResidualError::sum(const std::vector<ScaledReal>& counts, double p) const {
    return weighted(counts, all_, copies_, p);
}

ScaledReal ResidualError::at(double p) const { return sum(code_, p); }

ScaledReal ResidualError::customary(double p) const { return sum(all_, p).times_power_of_two(-std::int64_t{width_}); }

ScaledReal ResidualError::of_the_wrong(double p) const {
    const ScaledReal wrong = once_in(p, std::uint64_t{bits_} * copies_);
    return wrong.is_zero() ? wrong : at(p) / wrong;
}

// By MacWilliams' identity R(p) = 2^-r sum of B_w y^w - (1 - p)^n with y = 1 - 2p; at p = 0.5 only B_0 = 1 is left.
ResidualError::Above ResidualError::above_the_end(double p) const {
    if (copies_ == 2) return Above::of(at(p), at(0.5));
    if (p >= 0.5) return {};
    const ScaledReal y = apart(one, ScaledReal(2 * p)), end = one.times_power_of_two(-std::int64_t{width_});
    const ScaledReal words = one.times_power_of_two(width_);
    ScaledReal power = one, more;
    for (const ScaledReal& count : dual_) {
        if (!count.is_zero()) more += count * power;
        power *= y;
        if (is_nothing(words, power, more)) break;
    }
    more = more.times_power_of_two(-std::int64_t{width_});
    const ScaledReal all_good = power_of(apart(one, ScaledReal(p)), bits_);
    const ScaledReal less = apart(all_good, one.times_power_of_two(-std::int64_t{bits_}));
    return std::max(more, less) < end ? Above::of(more, less) : Above::of(at(p), at(0.5));
}

AtRate ResidualError::maximum() const {
    const double place = place_of_largest(rates_from(1e-2 / bits_, grid), [&](double p) { return above_the_end(p); });
    return {place, at(place)};
}

AtRate ResidualError::maximum_of_the_wrong() const {
    return largest(rates_from(1e-2 / bits_, grid), [&](double p) { return of_the_wrong(p); });
}

AtRate ResidualError::worst_of_customary() const {
    return largest(rates_from(1e-9, grid), [&](double p) {
        const ScaledReal usual = customary(p);
        return usual.is_zero() ? usual : at(p) / usual;
    });
}

// The slope is a positive factor times the sum of A_k p^k q^(n-k) (k - np), or, written with the dual code, minus the
// sum of w B_w y^(w-1) 2^(1-r) plus n (1-p)^(n-1). Either is a difference of two sums; the one that keeps more digits
// counts, and where both lose all of them R is level to the last digit.
bool ResidualError::proper() const {
    const ScaledReal digits_kept(1e-13), words = one.times_power_of_two(width_);
    const auto lost = [&](ScaledReal up, ScaledReal down) { return apart(up, down) <= digits_kept * (up + down); };
    for (const double p : rates_from(0.5 / bits_, 4000)) {
        if (p >= 0.5) continue;
        auto [term, ratio] = terms_of(bits_, copies_, p);
        const ScaledReal middle = ScaledReal(p) * ScaledReal(bits_);
        ScaledReal up, down;
        for (unsigned k = 0; k <= bits_; ++k, term *= ratio) {
            const ScaledReal place(k);
            if (!code_[k].is_zero()) (place > middle ? up : down) += code_[k] * term * apart(place, middle);
            if (place > middle && !all_[k].is_zero() && is_nothing(all_[k], term, up)) break;
        }
        if (copies_ == 1 && lost(up, down)) {
            const ScaledReal y = apart(one, ScaledReal(2 * p));
            ScaledReal power = one;
            down = ScaledReal();
            for (unsigned w = 1; w < dual_.size(); ++w, power *= y) {
                if (dual_[w].is_zero()) continue;
                down += ScaledReal(w) * dual_[w] * power;
                if (is_nothing(words, power, down)) break;
            }
            down = down.times_power_of_two(1 - std::int64_t{width_});
            up = ScaledReal(bits_) * power_of(apart(one, ScaledReal(p)), bits_ - 1);
        }
        if (!lost(up, down) && up < down) return false;
    }
    return true;
}

ResidualBounds::ResidualBounds(const Generator& generator, unsigned data_bits, const LowWeights& low, unsigned copies)
    : width_(generator.width), bits_(data_bits + generator.width), copies_(copies) {
    least_.assign(bits_ + 1, ScaledReal());
    for (unsigned k = 1; k <= low.searched() && k <= bits_; ++k) least_[k] = low.counts[k].approximate();
    most_ = least_;
    const unsigned distance = low.lowest() != 0 ? low.lowest() : low.searched() + 1;
    all_ = binomials(bits_);
    // C(n, t) / C(k, t) with t = k - ceil(d / 2) + 1; C(k, t) = C(k, k - t)
    const unsigned apart_by = (distance + 1) / 2 - 1;
    for (unsigned k = low.searched() + 1; k <= bits_; ++k) {
        ScaledReal ways = one;
        for (unsigned i = 1; i <= apart_by; ++i) ways = ways * ScaledReal(k - apart_by + i) / ScaledReal(i);
        most_[k] = std::min(all_[k], all_[k - apart_by] / ways);
    }
    std::fill_n(all_.begin(), distance, ScaledReal());
}

ScaledReal ResidualBounds::sum(const std::vector<ScaledReal>& counts, double p) const {
    return weighted(counts, all_, copies_, p);
}
ScaledReal ResidualBounds::at_least(double p) const { return sum(least_, p); }
ScaledReal ResidualBounds::at_most(double p) const { return sum(most_, p); }
ScaledReal ResidualBounds::customary(double p) const { return sum(all_, p).times_power_of_two(-std::int64_t{width_}); }

}  // namespace sim
