// Figures of numbers on standard input, one a line, as JSON, for the comparison with other people's statistics
// (statistics_against_scipy.py):
//   series_figures dependence               of whole nanoseconds, in their order
//   series_figures pareto VALUES HEIGHT...  of heights over a threshold, of VALUES values in all; the shares above
//   HEIGHTs
// Status 2 and one line on standard error if that cannot be.
#include <algorithm>
#include <iostream>
#include <string>
#include <vector>

#include "sim/numeric/dependence.hpp"
#include "sim/numeric/pareto_goodness.hpp"
#include "sim/numeric/pareto_profile.hpp"
#include "tools/text/json.hpp"

namespace {

using tools::Value;

Value dependence() {
    std::vector<proto::Duration> series;
    for (std::int64_t ns = 0; std::cin >> ns;) series.push_back({ns});
    const sim::Dependence found = sim::dependence_of(series);
    const sim::ClusterTest late = found.late.value_or(sim::ClusterTest{});
    return Value::Object{{"runs_z", found.runs.z},
                         {"by_lag", Value::List(found.correlations.by_lag.begin(), found.correlations.by_lag.end())},
                         {"q", found.correlations.q},
                         {"q_p", found.correlations.p},
                         {"above", late.above.ns},
                         {"exceedances", late.exceedances},
                         {"groups", late.runs},
                         {"groups_p", late.runs_p},
                         {"extremal_index", late.extremal_index}};
}

Value range(double low, double high) { return Value::List{low, high}; }

Value pareto(std::uint64_t values, const std::vector<double>& heights) {
    std::vector<double> excesses;
    for (double excess = 0.0; std::cin >> excess;) excesses.push_back(excess);
    const auto fit = sim::ParetoProfile::of(excesses, values);
    if (!fit) return {};
    std::sort(excesses.begin(), excesses.end());
    std::vector<double> above;
    above.reserve(excesses.size());
    for (const double excess : excesses) above.push_back(fit->above(excess));
    const sim::ParetoGoodness goodness = sim::pareto_goodness(above, fit->shape());
    Value::List shares;
    for (const double height : heights) {
        const sim::ShareAbove share = fit->share_above(height);
        shares.emplace_back(Value::List{share.central, share.low, share.high});
    }
    return Value::Object{{"shape", fit->shape()},
                         {"shape_range", range(fit->shape_interval().low, fit->shape_interval().high)},
                         {"scale", fit->scale()},
                         {"scale_range", range(fit->scale_interval().low, fit->scale_interval().high)},
                         {"log_likelihood", fit->log_likelihood()},
                         {"anderson_darling", goodness.anderson_darling.value},
                         {"cramer_von_mises", goodness.cramer_von_mises.value},
                         {"shares", shares}};
}

}  // namespace

int main(int count, char** given) {
    const std::vector<std::string> words(given + 1, given + count);
    if (words.size() == 1 && words[0] == "dependence") {
        std::cout << tools::to_json(dependence());
        return 0;
    }
    if (words.size() >= 2 && words[0] == "pareto") {
        std::vector<double> heights;
        for (std::size_t i = 2; i < words.size(); ++i) heights.push_back(std::stod(words[i]));
        std::cout << tools::to_json(pareto(std::stoull(words[1]), heights));
        return 0;
    }
    std::cerr << "series_figures: write `dependence`, or `pareto` and how many values there are in all\n";
    return 2;
}
