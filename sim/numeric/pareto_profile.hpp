#pragma once
// A generalised Pareto law fitted to excesses over a threshold by maximum likelihood, and what else the likelihood
// leaves possible: intervals of 95 % by its profile, of the shape and of the share of all values above any height.
//
// With t = shape / scale the likelihood has its maximum over the scale in closed form, so that one number is searched
// (Davison, Statistical Extremes and Applications, 1984; Grimshaw, Technometrics 35, 1993). For given t the excesses
// become exponential by w = log(1 + t y) / t, and limits of a share too are found in closed form but for one number.
// The same bits on every machine.
#include <cstdint>
#include <optional>
#include <vector>

#include "sim/numeric/poisson_interval.hpp"

namespace sim {

/// A share of all values with its interval of 95 %.
struct ShareAbove {
    double central = 0.0, low = 0.0, high = 0.0;
};

class ParetoProfile {
  public:
    /// `excesses`: heights above the threshold, all over 0, of `of` values in all. Nothing where the likelihood has no
    /// maximum with a shape over -1 and below 4 (below -1 it has none at all), or for fewer than 10 excesses.
    static std::optional<ParetoProfile> of(const std::vector<double>& excesses, std::uint64_t of);

    [[nodiscard]] double shape() const { return shape_; }
    [[nodiscard]] double scale() const { return scale_; }  ///< in the unit of the excesses
    [[nodiscard]] double log_likelihood() const { return log_likelihood_; }
    [[nodiscard]] std::uint64_t excesses() const { return excesses_; }
    [[nodiscard]] std::uint64_t values() const { return values_; }
    /// Limits by profile likelihood: all that has at least the maximum less 1.92.
    [[nodiscard]] Interval shape_interval() const { return shape_interval_; }
    [[nodiscard]] Interval scale_interval() const { return scale_interval_; }

    /// Of the excesses alone: the share above a height >= 0.
    [[nodiscard]] double above(double height) const;
    /// Of all values: the share that lies more than `height` above the threshold, height >= 0. How many values are over
    /// the threshold at all is as uncertain as a binomial count. About 1e-4 of itself is what the search leaves open.
    [[nodiscard]] ShareAbove share_above(double height) const;

  private:
    /// One t that is possible, and the mean of the excesses' w there.
    struct Point {
        double t, w;
        double left;  ///< of the 1.92, after what this t costs
    };
    ParetoProfile() = default;
    void look_around(const std::vector<double>& excesses);

    double shape_ = 0.0, scale_ = 0.0, t_ = 0.0, log_likelihood_ = 0.0;
    std::uint64_t excesses_ = 0, values_ = 0;
    Interval shape_interval_, scale_interval_;
    std::vector<Point> points_;  ///< even in t over all that is possible
};

}  // namespace sim
