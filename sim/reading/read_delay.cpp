// What stands under `delay` of a channel: one value, a spread, a histogram, a distribution by its formula, a preset, or
// a file of delays that were measured.
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "sim/channel/delay_shapes.hpp"
#include "sim/channel/fitted_tail.hpp"
#include "sim/numeric/portable_math.hpp"
#include "sim/numeric/share_interval.hpp"
#include "sim/reading/capture.hpp"
#include "sim/reading/measured_times.hpp"
#include "sim/reading/parts.hpp"
#include "sim/reading/shipped.hpp"
#include "sim/scenario/channel.hpp"
#include "sim/scenario/ends.hpp"
#include "sim/timing/bounds.hpp"

namespace sim {
namespace {

namespace fs = std::filesystem;
using Zero = Section::Zero;
constexpr Duration longest_delay = proto::seconds(3600);

void read_histogram(Section& section, DelayShape& shape) {
    shape.kind = DelayShape::Kind::histogram;
    const Place where = section.place("histogram");
    const Node* node = section.find("histogram");
    holds(section, "histogram", KeyShape::of(KeyShape::Kind::list));
    constexpr std::string_view right = R"(write [["0.1 ms", "0.3 ms", 10], ...], each with from, to and weight)";
    std::uint64_t sum = 0;
    for (std::size_t i = 0; i < node->items.size(); ++i) {
        const Node& row = node->items[i];
        const Place place{row.line, where.key + "[" + std::to_string(i + 1) + "]"};
        if (row.kind != Node::Kind::array || row.items.size() != 3 || row.items[2].kind != Node::Kind::integer) {
            return section.problems().say(place, "is no cell of a histogram; " + std::string(right));
        }
        const auto low = duration_in(row.items[0], place, Zero::allowed, longest_delay, section.problems());
        const auto high = duration_in(row.items[1], place, Zero::allowed, longest_delay, section.problems());
        if (!low || !high) return;
        if (*low > *high) {
            return section.problems().say(place,
                                          written(*low) + " is after " + written(*high) + "; write from before to");
        }
        constexpr std::int64_t weight_max = std::int64_t{1} << 40;
        const std::int64_t weight = row.items[2].integer;
        if (weight < 0 || weight > weight_max) {
            return section.problems().say(
                place, std::to_string(weight) + " is no weight; write 0 to " + std::to_string(weight_max));
        }
        sum += static_cast<std::uint64_t>(weight);
        shape.cells.push_back({*low, *high, static_cast<std::uint64_t>(weight)});
    }
    constexpr std::size_t cells_max = 4096;
    if (node->kind != Node::Kind::array || shape.cells.size() > cells_max) {
        section.say("histogram", "is no list of at most 4096 cells; " + std::string(right));
    } else if (sum == 0) {
        section.say("histogram", "has no cell with a weight over 0; " + std::string(right));
    }
}

void read_uniform(Section& table, DelayShape& shape) {
    shape.kind = DelayShape::Kind::uniform;
    const bool from = table.has("from"), to = table.has("to");
    if (from != to) return table.missing(from ? "to" : "from", "\"0.4 ms\"");
    shape.low = table.duration("from", Zero::allowed, longest_delay).value_or(Duration{});
    shape.high = table.duration("to", Zero::allowed, longest_delay).value_or(shape.low);
    if (shape.low > shape.high) {
        table.say("from", written(shape.low) + " is after to (" + written(shape.high) + "); exchange them");
    }
}

/// A duration that the formula needs.
Duration needed(Section& table, std::string_view key, std::string_view example) {
    const auto value = table.duration(key, Zero::refused, longest_delay);
    if (!table.has(key)) table.missing(key, example);
    return value.value_or(proto::milliseconds(1));
}

void read_formula(Section& table, DelayShape& shape) {
    enum class Formula : std::uint8_t { normal, lognormal, gamma };
    const auto formula = table.choice<Formula>(
        "shape", {{"normal", Formula::normal}, {"lognormal", Formula::lognormal}, {"gamma", Formula::gamma}});
    if (!formula) {
        for (const char* key : {"offset", "mean", "deviation", "floor", "median", "sigma", "alpha"})
            static_cast<void>(table.has(key));
        return;
    }
    const auto offset = [&] { return table.duration("offset", Zero::allowed, longest_delay).value_or(Duration{}); };
    if (*formula == Formula::normal) {
        NormalDelay normal;
        normal.mean = needed(table, "mean", "\"5 ms\"");
        normal.deviation = needed(table, "deviation", "\"1 ms\"");
        normal.floor = table.duration("floor", Zero::allowed, longest_delay).value_or(Duration{});
        if (normal.floor > normal.mean + normal.deviation * 3) {
            table.say("floor", written(normal.floor) +
                                   " leaves hardly anything of this distribution; write at most mean + "
                                   "3 deviations");
            return;
        }
        shape = histogram_of(normal);
    } else if (*formula == Formula::lognormal) {
        LognormalDelay lognormal{.offset = offset(), .median = needed(table, "median", "\"2.2 ms\""), .sigma = 0.5};
        if (!table.has("sigma")) table.missing("sigma", "0.5");
        lognormal.sigma = number_in(table, "sigma", 0.001, 2.0, "0.5").value_or(lognormal.sigma);
        shape = histogram_of(lognormal);
    } else {
        GammaDelay gamma{.offset = offset(), .mean = needed(table, "mean", "\"3 ms\""), .alpha = 2.0};
        if (!table.has("alpha")) table.missing("alpha", "2");
        gamma.alpha = number_in(table, "alpha", 0.1, 1000.0, "2").value_or(gamma.alpha);
        shape = histogram_of(gamma);
    }
    if (longest_of(shape) > longest_delay) {
        table.say("shape", "reaches up to " + written(longest_of(shape)) +
                               "; write a narrower distribution, of at most " + written(longest_delay));
    }
}

void read_preset(Section& table, DelayShape& shape) {
    const auto name = table.text("preset");
    holds(table, "preset", KeyShape::choice(delay_presets()));
    if (!name) return;
    if (auto found = delay_preset(*name)) {
        shape = std::move(*found);
    } else {
        table.none_of("preset", *name, delay_presets());
    }
}

/// Which way has all that varies of a round trip.
Direction read_split(Section& table) {
    return table.choice<Direction>("split", {{"out", Direction::to_device}, {"back", Direction::to_controller}})
        .value_or(Direction::to_device);
}

/// How many telegrams in a row keep the order of the measured times; 0: none.
std::uint64_t read_blocks(Section& table) {
    constexpr std::int64_t most = 1'000'000;
    return static_cast<std::uint64_t>(table.integer("blocks_of", 2, most).value_or(0));
}

void keep_order_in(Section& table, std::uint64_t block, DelayShape& shape) {
    if (block > shape.samples)
        table.say("blocks_of", std::to_string(block) + " are more than the " + std::to_string(shape.samples) +
                                   " times that were measured; write fewer");
    else
        shape.block = block;
}

/// What the longest measured times are taken for.
enum class TailWish : std::uint8_t { as_seen, generalised_pareto };
TailWish read_tail_wish(Section& table) {
    return table
        .choice<TailWish>("tail",
                          {{"as-seen", TailWish::as_seen}, {"generalised-pareto", TailWish::generalised_pareto}})
        .value_or(TailWish::as_seen);
}

/// What is wrong with measured times; nothing is known of the delays then.
void say_of_other_file(Section& table, FileError error) {
    table.problems().say(std::move(error));
    table.problems().doubt("channel");
}

void read_measured(Section& table, DelayShape& shape) {
    const auto name = table.text("file");
    const TailWish tail = read_tail_wish(table);
    const auto no_answer =
        table.choice<NoAnswer>("no_answer", {{"refuse", NoAnswer::refused}, {"losses", NoAnswer::loss}});
    const Direction late = read_split(table);
    const std::uint64_t block = read_blocks(table);
    if (!name) return;
    const fs::path path = (fs::path(table.problems().file()).parent_path() / *name).lexically_normal();
    auto read = read_measured_times(path.string(), no_answer.value_or(NoAnswer::refused), longest_delay);
    if (!read) return say_of_other_file(table, read.error());
    const MeasuredTimes& measured = read.value();
    const auto asked = static_cast<double>(measured.times.size() + measured.unanswered);
    shape = measured.round_trips ? histogram_of_round_trips(measured.times, late, path.string())
                                 : histogram_of_seen(measured.times);
    if (!measured.round_trips && table.has("split"))
        table.say("split", "is for round trips, and the file holds times of one way; leave it out");
    if (shape.of_round_trips && table.has("split")) shape.of_round_trips->stated = OfRoundTrips::Late::stated;
    keep_order_in(table, block, shape);
    if (tail == TailWish::generalised_pareto)
        keep_fitted_tail(shape, fitted_tail_of(*shape.series, measured.unanswered));
    // a round trip is answered if neither of its telegrams is lost
    const double answered = 1.0 - static_cast<double>(measured.unanswered) / asked;
    shape.lost = 1.0 - (measured.round_trips ? std::sqrt(answered) : answered);
    // as many in a row, if each were lost alone: in one file of twenty at most
    constexpr double seldom = 0.05;
    const std::uint64_t in_a_row = measured.unanswered_in_a_row;
    const bool in_rows = measured.unanswered_in_a_row > 1 && asked * whole_power(1.0 - answered, in_a_row) < seldom;
    // or more of them near another one than there would be
    const double by_chance = 1.0 - whole_power(answered, MeasuredTimes::close);
    const bool near =
        measured.unanswered > 1 && share_interval(measured.unanswered_close, measured.unanswered - 1).low > by_chance;
    if (in_rows || near) shape.lost_together = measured.unanswered_in_a_row;
}

void read_captured(Section& table, DelayShape& shape) {
    const auto name = table.text("capture");
    CaptureWish wish;
    wish.use = table
                   .choice<CaptureWish::Use>(
                       "use", {{"round-trips", CaptureWish::Use::round_trips}, {"gaps", CaptureWish::Use::gaps}})
                   .value_or(wish.use);
    constexpr std::int64_t port_most = 65535;
    if (const auto port = table.integer("port", 1, port_most)) wish.port = static_cast<std::uint16_t>(*port);
    const Duration offset = table.duration("offset", Zero::allowed, longest_delay).value_or(Duration{});
    const Direction late = read_split(table);
    const std::uint64_t block = read_blocks(table);
    const auto at_device = table.text("at_device");
    wish.subtract = table.duration("subtract", Zero::refused, longest_delay);
    for (const char* key : {"at_device", "subtract"})
        if (table.has(key) && wish.use == CaptureWish::Use::gaps)
            return table.say(key, "means nothing to use = \"gaps\", in which no device answers; leave it out");
    if (at_device && wish.subtract)
        return table.say("subtract", "stands beside at_device, which shows what the device took; leave one of them");
    if (!name) return;
    const auto beside = [&](const std::string& file) {
        return (fs::path(table.problems().file()).parent_path() / file).lexically_normal().string();
    };
    wish.path = beside(*name);
    if (at_device) wish.at_device = beside(*at_device);
    auto read = delays_in_capture(wish);
    if (!read) return say_of_other_file(table, read.error());
    CapturedDelays& delays = read.value();
    for (Duration& delay : delays.times) delay = delay + offset;
    const bool round_trips = wish.use == CaptureWish::Use::round_trips;
    shape = round_trips ? histogram_of_round_trips(delays.times, late, wish.path) : histogram_of_seen(delays.times);
    if (!round_trips && table.has("split")) table.say("split", "is for round trips; leave it out");
    if (round_trips && table.has("split")) shape.of_round_trips->stated = OfRoundTrips::Late::stated;
    keep_order_in(table, block, shape);
    shape.with_device = delays.with_device;
    shape.under_subtracted = delays.under;
}

}  // namespace

std::optional<double> number_in(Section& section, std::string_view key, double low, double high,
                                std::string_view example) {
    const Node* found = section.find(key);
    holds(section, key, KeyShape::number(low, high));
    if (found == nullptr) return std::nullopt;
    const bool is_number = found->kind == Node::Kind::number || found->kind == Node::Kind::integer;
    const double value = found->kind == Node::Kind::integer ? static_cast<double>(found->integer) : found->number;
    if (is_number && value >= low && value <= high) return value;
    const auto shown = [](double number) {
        std::string text = std::to_string(number);
        while (text.back() == '0') text.pop_back();
        if (text.back() == '.') text.pop_back();
        return text;
    };
    section.say(key, "is no number from " + shown(low) + " to " + shown(high) + "; write one without quotes, such as " +
                         std::string(example));
    return std::nullopt;
}

std::optional<DelayShape> read_delay(Section& section) {
    const Node* node = section.find("delay");
    holds(section, "delay", KeyShape::quantity(duration_units(), false, longest_delay.ns));
    if (node == nullptr) return std::nullopt;
    DelayShape shape;
    if (node->kind != Node::Kind::table) {
        shape.low = shape.high =
            duration_in(*node, section.place("delay"), Zero::allowed, longest_delay, section.problems())
                .value_or(Duration{});
        return shape;
    }
    Section table = *section.table("delay");
    struct Form {
        std::string_view key;
        void (*read)(Section&, DelayShape&);
    };
    const Form forms[] = {{"histogram", read_histogram}, {"shape", read_formula},    {"preset", read_preset},
                          {"file", read_measured},       {"capture", read_captured}, {"from", read_uniform},
                          {"to", read_uniform}};
    for (const Form& form : forms) {
        if (table.node().find(form.key) == nullptr) continue;
        form.read(table, shape);
        table.finish();
        return shape;
    }
    for (const Form& form : forms) static_cast<void>(table.has(form.key));
    table.finish();
    section.say("delay",
                "is neither one delay nor a distribution; write \"0.4 ms\", { from = \"0.2 ms\", to = "
                "\"0.4 ms\" }, { preset = \"5g-campus\" } or another form of " +
                    shipped_file("README.md"));
    return shape;
}

}  // namespace sim
