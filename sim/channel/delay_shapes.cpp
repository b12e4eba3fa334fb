#include "sim/channel/delay_shapes.hpp"

#include <algorithm>
#include <array>
#include <cmath>  // std::sqrt and std::llround only: both are exact, by IEEE 754
#include <cstddef>
#include <memory>
#include <string>
#include <utility>

#include "proto/contract.hpp"
#include "sim/numeric/portable_math.hpp"

namespace sim {
namespace {

/// Standard deviations beyond which a share of shape_cut of a normal distribution lies on one side.
constexpr double normal_cut = 4.753424308822899;

std::int64_t whole_ns(double ns) { return std::llround(ns); }

/// Collects edges from below and the share of all below each, and makes them cells.
class Cells {
  public:
    Cells(double share_at_begin, double share_at_end) : begin_(share_at_begin), all_(share_at_end - share_at_begin) {}

    /// The next edge; `low` never falls.
    void edge(std::int64_t low, double share) {
        const double part = std::clamp((share - begin_) / all_, 0.0, 1.0);
        const auto weight = static_cast<std::uint64_t>(std::llround(part * static_cast<double>(shape_weight)));
        if (!any_) {
            any_ = true;
        } else if (low > low_) {
            shape_.cells.push_back({{low_}, {low - 1}, weight - weight_});
        } else {
            return;  // narrower than a nanosecond: the next cell takes its weight too
        }
        low_ = low;
        weight_ = weight;
    }

    /// Whatever rounding left over goes to the last cell, which includes its upper edge.
    DelayShape done() {
        if (shape_.cells.empty()) shape_.cells.push_back({{low_}, {low_}, 0});
        shape_.cells.back().high = {low_};
        shape_.cells.back().weight += shape_weight - weight_;
        shape_.kind = DelayShape::Kind::histogram;
        return std::move(shape_);
    }

  private:
    double begin_, all_;
    DelayShape shape_;
    bool any_ = false;
    std::int64_t low_ = 0;
    std::uint64_t weight_ = 0;  ///< of all cells so far
};

/// No tail reaches further: twelve days, which every watchdog has run out by.
std::int64_t tail_ns(double ns) { return whole_ns(std::min(ns, 1e15)); }

/// The tail of a formula: from below, the edges of its cells and the share of all delays above each.
class Tail {
  public:
    void edge(std::int64_t low, double above) {
        if (edges_.empty() || low > edges_.back().low) edges_.push_back({low, above});
    }
    /// Weights add up to 2^62; what is above the last edge lies on it. `all`: of the delays that the formula keeps.
    void put_into(DelayShape& shape, double all) const {
        if (edges_.size() < 2) return;
        constexpr double whole = 0x1p62;
        const double first = edges_.front().above;
        const auto weight_above = [&](std::size_t i) {
            return static_cast<std::uint64_t>(std::llround(edges_[i].above / first * whole));
        };
        for (std::size_t i = 0; i + 1 < edges_.size(); ++i)
            shape.tail.push_back({{edges_[i].low}, {edges_[i + 1].low - 1}, weight_above(i) - weight_above(i + 1)});
        shape.tail.push_back({{edges_.back().low}, {edges_.back().low}, weight_above(edges_.size() - 1)});
        shape.tail_share = first / all;
    }

  private:
    struct Edge {
        std::int64_t low;
        double above;
    };
    std::vector<Edge> edges_;
};
constexpr unsigned tail_cells = 256;
/// Standard deviations above which a tail ends: 8e-24 of all delays lie there.
constexpr double normal_end = 10.0;
/// The same for other laws: a share of all delays.
constexpr double tail_end = 1e-23;

/// The x at which a rising function reaches `wanted`, between `low` and `high`, to the last bits.
template <class Function>
double where(Function rising, double wanted, double low, double high) {
    constexpr int halvings = 100;
    for (int i = 0; i < halvings; ++i) {
        const double middle = low + (high - low) * 0.5;
        (rising(middle) < wanted ? low : high) = middle;
    }
    return high;
}

/// `at`: the delay so many standard deviations above the mean, in nanoseconds. `all`: what the formula keeps.
template <class Delay>
void add_normal_tail(DelayShape& shape, double all, Delay at) {
    Tail tail;
    for (unsigned i = 0; i <= tail_cells; ++i) {
        const double z = normal_cut + (normal_end - normal_cut) / tail_cells * i;
        tail.edge(i == 0 ? shape.cells.back().high.ns + 1 : tail_ns(at(z)), normal_below(-z));
    }
    tail.put_into(shape, all);
}

void add_gamma_tail(DelayShape& shape, const GammaDelay& delay, double from, double all) {
    const double alpha = delay.alpha;
    const double far = alpha + 400.0 + 40.0 * std::sqrt(alpha);
    const double end = where([&](double x) { return -gamma_above(alpha, x); }, -tail_end, from, far);
    Tail tail;
    for (unsigned i = 0; i <= tail_cells; ++i) {
        const double x = i == 0 ? from : from + (end - from) / tail_cells * i;
        const double ns = static_cast<double>(delay.offset.ns) + static_cast<double>(delay.mean.ns) / alpha * x;
        tail.edge(i == 0 ? shape.cells.back().high.ns + 1 : tail_ns(ns), gamma_above(alpha, x));
    }
    tail.put_into(shape, all);
}

DelayShape named(DelayShape shape, std::string_view preset) {
    shape.preset = preset;
    return shape;
}

/// Evenly 0.1 to 0.3 ms (the way through a few switches) plus evenly 0 to 0.05 ms (waiting), in whole microseconds: the
/// exact sum of the two.
DelayShape wired_switched() {
    constexpr int base_us = 200, jitter_us = 50, shortest_us = 100;
    DelayShape shape;
    shape.kind = DelayShape::Kind::histogram;
    for (int sum = 0; sum <= base_us + jitter_us - 2; ++sum) {
        const int ways = std::min({sum + 1, jitter_us, base_us + jitter_us - 1 - sum});
        const Duration low = proto::microseconds(shortest_us + sum);
        shape.cells.push_back({low, {low.ns + 999}, static_cast<std::uint64_t>(ways)});
    }
    return shape;
}

/// 95 % of the one-way delays between 4 and 10 ms were published for such networks (Rischke and others, IEEE Access 9,
/// 2021, 121786); the form of the curve is our own.
DelayShape campus_5g() {
    return histogram_of(
        LognormalDelay{.offset = proto::milliseconds(4), .median = proto::microseconds(2200), .sigma = 0.5});
}

/// Our own guess at a busy cell: mostly a few milliseconds, now and then a hundred.
DelayShape wifi_busy() {
    return histogram_of(
        LognormalDelay{.offset = proto::milliseconds(1), .median = proto::milliseconds(3), .sigma = 0.9});
}

struct Preset {
    std::string_view name;
    DelayShape (*make)();
};
constexpr std::array<Preset, 3> presets{
    {{"wired-switched", wired_switched}, {"5g-campus", campus_5g}, {"wifi-busy", wifi_busy}}};

}  // namespace

DelayShape histogram_of(const NormalDelay& delay) {
    const auto mean = static_cast<double>(delay.mean.ns);
    const auto deviation = static_cast<double>(delay.deviation.ns);
    const auto floor = static_cast<double>(delay.floor.ns);
    proto::require(delay.deviation.ns > 0 && delay.floor.ns >= 0, "a normal delay out of range");
    const double begin = std::max(-normal_cut, (floor - mean) / deviation);
    const double step = (normal_cut - begin) / shape_cells;
    proto::require(begin < normal_cut, "a normal delay that lies under its floor");
    Cells cells(normal_below(begin), normal_below(normal_cut));
    for (unsigned i = 0; i <= shape_cells; ++i) {
        const double z = i == shape_cells ? normal_cut : begin + step * i;
        cells.edge(std::max(whole_ns(mean + deviation * z), delay.floor.ns), normal_below(z));
    }
    DelayShape shape = cells.done();
    add_normal_tail(shape, 1.0 - normal_below(begin), [&](double z) { return std::max(mean + deviation * z, floor); });
    return shape;
}

DelayShape histogram_of(const LognormalDelay& delay) {
    proto::require(delay.offset.ns >= 0 && delay.median.ns > 0 && delay.sigma >= 0.001 && delay.sigma <= 2.0,
                   "a lognormal delay out of range");
    const auto offset = static_cast<double>(delay.offset.ns);
    const auto median = static_cast<double>(delay.median.ns);
    Cells cells(normal_below(-normal_cut), normal_below(normal_cut));
    for (unsigned i = 0; i <= shape_cells; ++i) {
        const double z = i == shape_cells ? normal_cut : -normal_cut + 2.0 * normal_cut / shape_cells * i;
        cells.edge(whole_ns(offset + median * portable_exp(delay.sigma * z)), normal_below(z));
    }
    DelayShape shape = cells.done();
    add_normal_tail(shape, 1.0 - normal_below(-normal_cut),
                    [&](double z) { return offset + median * portable_exp(delay.sigma * z); });
    return shape;
}

DelayShape histogram_of(const GammaDelay& delay) {
    proto::require(delay.offset.ns >= 0 && delay.mean.ns > 0 && delay.alpha >= 0.1 && delay.alpha <= 1000.0,
                   "a gamma delay out of range");
    const double alpha = delay.alpha;
    const auto offset = static_cast<double>(delay.offset.ns);
    const double scale = static_cast<double>(delay.mean.ns) / alpha;
    const double far = alpha + 100.0 + 20.0 * std::sqrt(alpha);
    const double end = where([&](double x) { return -gamma_above(alpha, x); }, -shape_cut, 0.0, far);
    // A curve that is steep at 0 keeps its whole lower end; elsewhere what is rarer than the cut is left away.
    const double begin =
        alpha <= 1.0 ? 0.0 : where([&](double x) { return gamma_below(alpha, x); }, shape_cut, 0.0, alpha);
    // Edges are even in the square root of the delay: fine where a small shape piles up, and as good elsewhere.
    const double root = std::sqrt(begin);
    const double step = (std::sqrt(end) - root) / shape_cells;
    Cells cells(gamma_below(alpha, begin), gamma_below(alpha, end));
    for (unsigned i = 0; i <= shape_cells; ++i) {
        const double r = root + step * i;
        const double x = i == 0 ? begin : i == shape_cells ? end : r * r;
        cells.edge(whole_ns(offset + scale * x), gamma_below(alpha, x));
    }
    DelayShape shape = cells.done();
    add_gamma_tail(shape, delay, end, 1.0 - gamma_below(alpha, begin));
    return shape;
}

std::vector<std::string> delay_presets() {
    std::vector<std::string> names;
    names.reserve(presets.size());
    for (const Preset& preset : presets) names.emplace_back(preset.name);
    return names;
}

std::optional<DelayShape> delay_preset(std::string_view name) {
    for (const Preset& preset : presets) {
        if (preset.name == name) return named(preset.make(), name);
    }
    return std::nullopt;
}

DelayShape histogram_of_seen(const std::vector<Duration>& series) {
    proto::require(!series.empty(), "no delays were seen");
    std::vector<Duration> delays = series;
    std::sort(delays.begin(), delays.end());
    DelayShape shape;
    shape.series = std::make_shared<const std::vector<Duration>>(series);
    shape.kind = DelayShape::Kind::histogram;
    shape.samples = delays.size();
    constexpr std::size_t cells_max = 4096;
    std::size_t different = 1;
    for (std::size_t i = 1; i < delays.size(); ++i) different += delays[i] != delays[i - 1] ? 1U : 0U;
    // the longest ones decide how often a link stops, so they stay apart
    constexpr std::size_t apart = 1024;
    const std::size_t joined = delays.size() > apart ? delays.size() - apart : 0;
    constexpr std::size_t cells_joined = cells_max - apart;
    const std::size_t per_cell = different <= cells_max ? 1 : (joined + cells_joined - 1) / cells_joined;
    for (std::size_t i = 0; i < delays.size();) {
        std::size_t end = i < joined ? std::min(i + per_cell, joined) : i + 1;
        while (end < delays.size() && delays[end] == delays[end - 1]) ++end;  // equal ones stay together
        shape.cells.push_back({delays[i], delays[end - 1], end - i});
        i = end;
    }
    return shape;
}

DelayShape histogram_of_round_trips(const std::vector<Duration>& round_trips, Direction late, std::string source) {
    proto::require(!round_trips.empty(), "no round trips were seen");
    const Duration shortest = *std::min_element(round_trips.begin(), round_trips.end());
    std::vector<Duration> varying = round_trips;
    for (Duration& each : varying) each = each - Duration{shortest.ns / 2};
    DelayShape shape = histogram_of_seen(varying);
    shape.of_round_trips = {OfRoundTrips::Part::all_that_varies, shortest, late, std::move(source)};
    return shape;
}

void share_round_trips(DelayShape& to_device, DelayShape& to_controller) {
    if (!to_device.of_round_trips || !to_controller.of_round_trips ||
        to_device.of_round_trips->source != to_controller.of_round_trips->source)
        return;
    DelayShape& even = to_device.of_round_trips->late == Direction::to_device ? to_controller : to_device;
    OfRoundTrips of = *even.of_round_trips;
    of.part = OfRoundTrips::Part::half_of_shortest;
    const Duration half{of.shortest.ns / 2};
    const double lost = even.lost;
    even = DelayShape{.low = half, .high = half};
    even.of_round_trips = std::move(of);
    even.lost = lost;
}

}  // namespace sim
