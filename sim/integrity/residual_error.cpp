#include "sim/integrity/residual_error.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "proto/contract.hpp"

namespace sim {
namespace {

static_assert(std::numeric_limits<long double>::max_exponent10 >= 4000, "counts of code words need this range");

/// C(n, k) for k = 0..n: the products stay exact to the last digit or two.
std::vector<long double> binomials(unsigned n) {
    std::vector<long double> row(n + 1);
    row[0] = 1;
    for (unsigned k = 1; k <= n; ++k) row[k] = row[k - 1] * (n - k + 1) / k;
    return row;
}

/// Rates from `low` to 0.5, each the same factor above the one before.
std::vector<long double> rates_from(long double low, unsigned count) {
    std::vector<long double> rates(count);
    const long double step = std::pow(0.5L / low, 1.0L / (count - 1));
    long double rate = low;
    for (long double& each : rates) {
        each = std::min(rate, 0.5L);
        rate *= step;
    }
    rates.back() = 0.5L;
    return rates;
}

/// The largest value over the rates, refined between the neighbours of the best one by the golden section.
template <class F>
AtRate largest(const std::vector<long double>& rates, F f) {
    std::size_t best = rates.size() - 1;
    long double value = f(rates[best]);
    for (std::size_t i = 0; i + 1 < rates.size(); ++i) {
        const long double here = f(rates[i]);
        if (!(here > value)) continue;
        best = i;
        value = here;
    }
    AtRate out{rates[best], value};
    if (best + 1 == rates.size()) return out;
    long double low = rates[best == 0 ? 0 : best - 1], high = rates[best + 1];
    const long double golden = (std::sqrt(5.0L) - 1) / 2;
    for (int i = 0; i < 40; ++i) {
        const long double left = high - golden * (high - low), right = low + golden * (high - low);
        const long double at_left = f(left), at_right = f(right);
        if (at_left > out.value) out = {left, at_left};
        if (at_right > out.value) out = {right, at_right};
        (at_left > at_right ? high : low) = at_left > at_right ? right : left;
    }
    return out;
}

/// Sum of counts[k] p^k q^(n - k), or for two copies of counts[k] p^2k q^2(n - k).
long double weighted(const std::vector<long double>& counts, unsigned bits, unsigned copies, long double p) {
    if (p <= 0) return 0;
    const long double q = 1 - p;
    const long double ratio = copies == 2 ? (p / q) * (p / q) : p / q;
    long double term = std::exp(std::log1p(-p) * bits * copies);
    long double total = 0;
    for (const long double count : counts) {
        total += count * term;
        term *= ratio;
    }
    return total;
}

constexpr unsigned grid = 700;

}  // namespace

ResidualError::ResidualError(const WeightDistribution& weights, unsigned copies)
    : width_(weights.generator.width), bits_(weights.bits()), copies_(copies) {
    proto::require(copies == 1 || copies == 2, "ResidualError: one copy or two");
    for (const WideNumber& count : weights.code) code_.push_back(count.approximate());
    code_[0] = 0;
    all_ = binomials(bits_);
    std::fill_n(all_.begin(), weights.hamming_distance(), 0.0L);
    for (const std::uint64_t count : weights.dual) dual_.push_back(static_cast<long double>(count));
    dual_[0] -= 1;
}

long double ResidualError::sum(const std::vector<long double>& counts, long double p) const {
    return weighted(counts, bits_, copies_, p);
}

long double ResidualError::at(long double p) const { return sum(code_, p); }

long double ResidualError::customary(long double p) const {
    return std::ldexp(sum(all_, p), -static_cast<int>(width_));
}

long double ResidualError::of_the_wrong(long double p) const {
    const long double wrong = -std::expm1(std::log1p(-p) * bits_ * copies_);
    return wrong > 0 ? at(p) / wrong : 0;
}

// By MacWilliams' identity R(p) = 2^-r sum of B_w y^w - (1 - p)^n with y = 1 - 2p; at p = 0.5 only B_0 = 1 is left.
long double ResidualError::above_the_end(long double p) const {
    if (copies_ == 2) return at(p) - at(0.5L);
    const long double y = 1 - 2 * p;
    if (y <= 0) return 0;
    long double power = 1, more = 0;
    for (const long double count : dual_) {
        more += count * power;
        power *= y;
    }
    more = std::ldexp(more, -static_cast<int>(width_));
    const long double less = std::exp(std::log1p(-p) * bits_) - std::ldexp(1.0L, -static_cast<int>(bits_));
    const long double end = std::ldexp(1.0L, -static_cast<int>(width_));
    return std::max(more, less) < end ? more - less : at(p) - at(0.5L);
}

AtRate ResidualError::maximum() const {
    const std::vector<long double> rates = rates_from(1e-2L / bits_, grid);
    AtRate best = largest(rates, [&](long double p) { return above_the_end(p); });
    best.value = at(best.rate);
    return best;
}

AtRate ResidualError::maximum_of_the_wrong() const {
    return largest(rates_from(1e-2L / bits_, grid), [&](long double p) { return of_the_wrong(p); });
}

AtRate ResidualError::worst_of_customary() const {
    return largest(rates_from(1e-9L, grid), [&](long double p) {
        const long double usual = customary(p);
        return usual > 0 ? at(p) / usual : 0.0L;
    });
}

// The slope is a positive factor times the sum of A_k p^k q^(n-k) (k - np), or, written with the dual code, minus the
// sum of w B_w y^(w-1) 2^(1-r) plus n (1-p)^(n-1). Either is a difference of two sums; the one that keeps more digits
// counts, and where both lose all of them R is level to the last digit.
bool ResidualError::proper() const {
    const auto lost = [](long double up, long double down) { return std::abs(up - down) <= 1e-13L * (up + down); };
    for (const long double p : rates_from(0.5L / bits_, 4000)) {
        if (p >= 0.5L) continue;
        const long double ratio = copies_ == 2 ? (p / (1 - p)) * (p / (1 - p)) : p / (1 - p);
        long double term = std::exp(std::log1p(-p) * bits_ * copies_), up = 0, down = 0;
        for (std::size_t k = 0; k < code_.size(); ++k) {
            const long double lean = static_cast<long double>(k) - p * bits_;
            (lean > 0 ? up : down) += code_[k] * term * std::abs(lean);
            term *= ratio;
        }
        if (copies_ == 1 && lost(up, down)) {
            const long double y = 1 - 2 * p;
            long double power = 1;
            down = 0;
            for (std::size_t w = 1; w < dual_.size(); ++w) {
                down += static_cast<long double>(w) * dual_[w] * power;
                power *= y;
            }
            down = std::ldexp(down, 1 - static_cast<int>(width_));
            up = bits_ * std::exp(std::log1p(-p) * (bits_ - 1));
        }
        if (!lost(up, down) && up < down) return false;
    }
    return true;
}

ResidualBounds::ResidualBounds(const Generator& generator, unsigned data_bits, const LowWeights& low, unsigned copies)
    : width_(generator.width), bits_(data_bits + generator.width), copies_(copies) {
    least_.assign(bits_ + 1, 0);
    for (unsigned k = 1; k <= low.searched() && k <= bits_; ++k) least_[k] = low.counts[k].approximate();
    most_ = least_;
    const unsigned distance = low.lowest() != 0 ? low.lowest() : low.searched() + 1;
    all_ = binomials(bits_);
    // C(n, t) / C(k, t) with t = k - ceil(d / 2) + 1; C(k, t) = C(k, k - t)
    const unsigned apart = (distance + 1) / 2 - 1;
    for (unsigned k = low.searched() + 1; k <= bits_; ++k) {
        long double ways = 1;
        for (unsigned i = 1; i <= apart; ++i) ways = ways * (k - apart + i) / i;
        most_[k] = std::min(all_[k], all_[k - apart] / ways);
    }
    std::fill_n(all_.begin(), distance, 0.0L);
}

long double ResidualBounds::sum(const std::vector<long double>& counts, long double p) const {
    return weighted(counts, bits_, copies_, p);
}
long double ResidualBounds::at_least(long double p) const { return sum(least_, p); }
long double ResidualBounds::at_most(long double p) const { return sum(most_, p); }
long double ResidualBounds::customary(long double p) const {
    return std::ldexp(sum(all_, p), -static_cast<int>(width_));
}

}  // namespace sim
