#include "sim/channel/fitted_tail.hpp"

#include <algorithm>
#include <cmath>  // std::floor, std::abs and std::llround only: all are exact
#include <cstddef>
#include <string>
#include <utility>

#include "proto/contract.hpp"
#include "sim/numeric/pareto_tail.hpp"
#include "sim/numeric/portable_math.hpp"

namespace sim {
namespace {

constexpr std::size_t steps = 128;
constexpr double whole = 0x1p62;
/// No tail reaches further, as in delay_shapes.cpp: twelve days.
constexpr double furthest_ns = 1e15;

std::string clause_for(TailDoubt why, const ParetoTail& tail, std::uint64_t unanswered) {
    switch (why) {
        case TailDoubt::too_few:
            return "of " + std::to_string(tail.values) +
                   " times too few are long and differ; it takes 1000, of which 50 exceed a threshold";
        case TailDoubt::unanswered:
            return std::to_string(unanswered) + (unanswered == 1 ? " telegram has" : " telegrams have") +
                   " no time: how late they would have come is cut off";
        case TailDoubt::piled_up: return "they crowd at the longest, as if cut off by a time-out";
        case TailDoubt::clustered: return "long ones do not come independently of each other";
        case TailDoubt::too_coarse: return "they are rounded too coarsely";
        case TailDoubt::bad_fit: return "no generalised Pareto law fits them";
        case TailDoubt::short_end: return "they end so abruptly that the fit cannot tell where";
        case TailDoubt::too_heavy: return "longer ones may come so often that not even their mean is known";
        case TailDoubt::no_reach: return "the fit reaches no further than the longest of them";
    }
    return "";
}

/// The height over the threshold that a share of the excesses exceeds.
double height_of(const ParetoProfile& fit, double share) {
    const double a = -portable_log(share), shape = fit.shape();
    constexpr double tiny = 1e-6;
    if (std::abs(shape * a) < tiny) return fit.scale() * a * (1.0 + 0.5 * shape * a);
    return fit.scale() * (portable_exp(shape * a) - 1.0) / shape;
}

/// Whole nanoseconds from the threshold to the reach, at even steps of the logarithm of the share above; the longest
/// that was seen is one of them.
std::vector<std::int64_t> edges_of(const ParetoTail& tail) {
    const auto floor_of = [](double ns) { return static_cast<std::int64_t>(std::floor(ns)); };
    const double reach = std::min(tail.reach_ns, furthest_ns);
    const double end = tail.fit->above(reach - tail.threshold_ns);
    std::vector<std::int64_t> edges{floor_of(tail.threshold_ns), tail.longest.ns, floor_of(reach)};
    for (std::size_t i = 1; i < steps; ++i) {
        const double share = portable_exp(portable_log(end) * static_cast<double>(i) / static_cast<double>(steps));
        edges.push_back(std::min(floor_of(tail.threshold_ns + height_of(*tail.fit, share)), floor_of(reach)));
    }
    std::sort(edges.begin(), edges.end());
    edges.erase(std::unique(edges.begin(), edges.end()), edges.end());
    return edges;
}

/// `above`: the share of all delays above each edge, as it is; it is made never to rise.
FittedTail::Law law_of(const std::vector<std::int64_t>& edges, std::vector<double> above) {
    for (std::size_t i = 1; i < above.size(); ++i) above[i] = std::min(above[i], above[i - 1]);
    FittedTail::Law law;
    law.beyond = above.back();
    law.share = above.front() - above.back();
    const auto weight_above = [&](std::size_t i) {
        return static_cast<std::uint64_t>(std::llround((above[i] - above.back()) / law.share * whole));
    };
    for (std::size_t i = 0; i + 1 < edges.size(); ++i)
        law.cells.push_back({{edges[i] + 1}, {edges[i + 1]}, weight_above(i) - weight_above(i + 1)});
    return law;
}

void make_laws(FittedTail& kept, const ParetoTail& tail) {
    const std::vector<std::int64_t> edges = edges_of(tail);
    std::vector<double> central, low, high;
    for (const std::int64_t edge : edges) {
        const ShareAbove share = tail.fit->share_above(std::max(0.0, static_cast<double>(edge) - tail.threshold_ns));
        central.push_back(share.central);
        low.push_back(share.low);
        high.push_back(share.high);
    }
    kept.central = law_of(edges, std::move(central));
    kept.low = law_of(edges, std::move(low));
    kept.high = law_of(edges, std::move(high));
}

std::uint64_t weight_of(const std::vector<DelayCell>& cells) {
    std::uint64_t sum = 0;
    for (const DelayCell& cell : cells) sum += cell.weight;
    return sum;
}

bool is_used(const std::optional<FittedTail>& tail) { return tail && tail->refused.empty(); }

}  // namespace

FittedTail fitted_tail_of(const std::vector<Duration>& delays, std::uint64_t unanswered) {
    const ParetoTail tail = pareto_tail(delays, unanswered);
    FittedTail kept;
    kept.values = tail.values;
    kept.longest = tail.longest;
    for (const TailDoubt why : tail.doubts) kept.refused.push_back(clause_for(why, tail, unanswered));
    if (!tail.fit) return kept;
    kept.excesses = tail.fit->excesses();
    kept.threshold = {static_cast<std::int64_t>(std::floor(tail.threshold_ns))};
    kept.shape = tail.fit->shape();
    kept.shape_low = tail.fit->shape_interval().low;
    kept.shape_high = tail.fit->shape_interval().high;
    kept.scale_ns = tail.fit->scale();
    kept.scale_low_ns = tail.fit->scale_interval().low;
    kept.scale_high_ns = tail.fit->scale_interval().high;
    kept.anderson_darling = tail.goodness.anderson_darling.value;
    kept.anderson_darling_p = tail.goodness.anderson_darling.p;
    kept.cramer_von_mises = tail.goodness.cramer_von_mises.value;
    kept.cramer_von_mises_p = tail.goodness.cramer_von_mises.p;
    kept.reach = {static_cast<std::int64_t>(std::floor(std::min(tail.reach_ns, furthest_ns)))};
    if (tail.believed()) make_laws(kept, tail);
    return kept;
}

void keep_fitted_tail(DelayShape& seen, FittedTail tail) {
    seen.fitted = std::move(tail);
    if (!is_used(seen.fitted)) return;
    const FittedTail& kept = *seen.fitted;
    double part = 0.0;
    for (const DelayCell& cell : kept.central.cells) {
        if (cell.low <= kept.longest || cell.weight == 0) continue;
        seen.tail.push_back(cell);
        part += static_cast<double>(cell.weight);
    }
    seen.tail_share = part / whole * kept.central.share / (1.0 - kept.central.beyond);
}

DelayShape fitted_shape(const DelayShape& seen, const FittedTail::Law& law) {
    proto::require(is_used(seen.fitted) && !law.cells.empty(), "a fit that was refused");
    DelayShape shape = seen;
    shape.cells.clear();
    shape.tail.clear();
    for (const DelayCell& cell : seen.cells)
        if (cell.high <= seen.fitted->threshold) shape.cells.push_back(cell);
    // what was seen has whole weights of its own; multiplied, so that the law's are fine enough beside them
    constexpr std::uint64_t fine = std::uint64_t{1} << 52;
    const std::uint64_t times = std::max<std::uint64_t>(1, fine / weight_of(shape.cells));
    for (DelayCell& cell : shape.cells) cell.weight *= times;
    const double all_of_law = static_cast<double>(weight_of(shape.cells)) * law.share / (1.0 - law.share - law.beyond);
    double part = 0.0;
    for (const DelayCell& cell : law.cells) {
        if (cell.weight == 0) continue;
        const double share = static_cast<double>(cell.weight) / whole;
        if (cell.high <= seen.fitted->longest) {
            shape.cells.push_back({cell.low, cell.high, static_cast<std::uint64_t>(std::llround(share * all_of_law))});
        } else {
            shape.tail.push_back(cell);
            part += share;
        }
    }
    shape.tail_share = part * law.share / (1.0 - law.beyond);
    return shape;
}

FittedShapes fitted_shapes(const DelayShape& seen) {
    proto::require(is_used(seen.fitted), "a fit that was refused");
    const FittedTail& tail = *seen.fitted;
    return {fitted_shape(seen, tail.central), fitted_shape(seen, tail.low), fitted_shape(seen, tail.high)};
}

}  // namespace sim
