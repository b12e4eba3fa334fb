#include "sim/channel/quiet_telegrams.hpp"

#include <algorithm>
#include <array>
#include <map>

#include "proto/contract.hpp"
#include "sim/channel/delay_law.hpp"

namespace sim {
namespace {

constexpr std::size_t places_most = 4096;
constexpr std::int64_t slots_most = 1'000'000;  ///< scans that one cell of a delay table may reach over

std::int64_t floor_of(std::int64_t value, std::int64_t by) {
    const std::int64_t whole = value / by;
    return value % by < 0 ? whole - 1 : whole;
}

std::int64_t ceiling_of(std::int64_t value, std::int64_t by) { return -floor_of(-value, by); }

/// A 64-bit threshold as the probability that it stands for.
double odds(std::uint64_t threshold) {
    return threshold == ~std::uint64_t{0} ? 1.0 : static_cast<double>(threshold) * 0x1p-64;
}

double either(double a, double b) { return a + b - a * b; }

double weight_of_each_value(const DelayPiece& piece) {
    return piece.weight / static_cast<double>(piece.high.ns - piece.low.ns + 1);
}

/// The receiver's scans beside one of the sender's: by which of them a telegram arrives, by its delay.
struct Arrivals {
    std::int64_t since = 0;  ///< ns from the receiver's first scan to the sending
    std::int64_t scan = 1;   ///< ns, the receiver's period
    [[nodiscard]] std::int64_t slot_of(std::int64_t delay) const { return ceiling_of(since + delay, scan); }
    [[nodiscard]] std::int64_t first_in(std::int64_t slot) const { return (slot - 1) * scan + 1 - since; }
    [[nodiscard]] std::int64_t last_in(std::int64_t slot) const { return slot * scan - since; }
};

/// The scan that most telegrams arrive by; nothing if a cell reaches over too many.
std::optional<std::int64_t> likeliest(const Arrivals& arrivals, const std::vector<DelayPiece>& cells) {
    std::map<std::int64_t, double> slots;
    for (const DelayPiece& cell : cells) {
        const std::int64_t first = arrivals.slot_of(cell.low.ns), last = arrivals.slot_of(cell.high.ns);
        if (last - first > slots_most) return std::nullopt;
        const double each = weight_of_each_value(cell);
        for (std::int64_t slot = first; slot <= last; ++slot) {
            const std::int64_t from = std::max(cell.low.ns, arrivals.first_in(slot));
            const std::int64_t to = std::min(cell.high.ns, arrivals.last_in(slot));
            slots[slot] += each * static_cast<double>(to - from + 1);
        }
    }
    return std::max_element(slots.begin(), slots.end(),
                            [](const auto& a, const auto& b) { return a.second < b.second; })
        ->first;
}

}  // namespace

proto::Instant ScanGrid::at_or_after(proto::Instant instant) const {
    return proto::Instant{} + phase + period * std::max<std::int64_t>(ceiling_of(instant.ns - phase.ns, period.ns), 0);
}

std::optional<QuietTelegrams> QuietTelegrams::make(const ChannelSettings& settings, ScanGrid sender, ScanGrid receiver,
                                                   Duration repeats_after, unsigned bits, Random draws) {
    if (settings.queue || settings.delay.block != 0) return std::nullopt;
    proto::require(repeats_after.ns % sender.period.ns == 0 && repeats_after.ns % receiver.period.ns == 0,
                   "quiet telegrams: scans do not repeat after that time");
    const auto places = static_cast<std::size_t>(repeats_after.ns / sender.period.ns);
    if (places > places_most) return std::nullopt;

    QuietTelegrams quiet(settings.delay, draws);
    quiet.sender_ = sender;
    quiet.take_odds(settings, bits);
    const bool constant = quiet.delays_.shortest() == latest_of(settings.delay);
    quiet.keeps_order_ = settings.keep_order || constant;
    const std::vector<DelayPiece> cells = pieces_of(settings.delay);
    double total = 0.0;
    for (const DelayPiece& cell : cells) total += cell.weight;

    std::int64_t slot_before = 0;
    for (std::size_t i = 0; i < places; ++i) {
        const Arrivals arrivals{(sender.phase + sender.period * static_cast<std::int64_t>(i) - receiver.phase).ns,
                                receiver.period.ns};
        const std::optional<std::int64_t> slot = likeliest(arrivals, cells);
        if (!slot) return std::nullopt;
        Place place = place_within(Duration{arrivals.first_in(*slot)}, Duration{arrivals.last_in(*slot)}, cells);
        place.late = (place.outside.empty() ? 0.0 : place.outside.back().weight) / total;
        place.strange = either(either(place.late, quiet.lost_), either(quiet.turns_, quiet.bent_));
        quiet.places_.push_back(std::move(place));

        // Two that arrive for the same scan may change places, unless their order is kept.
        if (!quiet.keeps_order_ && i > 0 && *slot == slot_before) return std::nullopt;
        slot_before = *slot;
    }
    return quiet;
}

void QuietTelegrams::take_odds(const ChannelSettings& settings, unsigned bits) {
    if (settings.bursts) {
        lost_ = odds(threshold(settings.bursts->in_good));
        turns_ = odds(threshold(settings.bursts->good_to_bad));
    } else {
        lost_ = odds(threshold(settings.loss));
    }
    if (const BitErrors errors(settings.bit_error_rate); errors.any()) {
        bent_below_ = errors.flip_within(bits);
        bent_ = odds(bent_below_);
    }
}

QuietTelegrams::Place QuietTelegrams::place_within(Duration low, Duration high, const std::vector<DelayPiece>& cells) {
    Place place;
    place.low = low;
    place.high = high;
    double outside = 0.0;
    for (const DelayPiece& cell : cells) {
        const double each = weight_of_each_value(cell);
        const std::array<std::array<std::int64_t, 2>, 2> sides{
            {{cell.low.ns, std::min(cell.high.ns, place.low.ns - 1)},
             {std::max(cell.low.ns, place.high.ns + 1), cell.high.ns}}};
        for (const auto& [from, to] : sides) {
            if (from > to) continue;
            const std::int64_t values = to - from + 1;
            outside += each * static_cast<double>(values);
            place.outside.push_back({from, static_cast<std::uint64_t>(values), outside});
        }
    }
    return place;
}

std::size_t QuietTelegrams::place_of(proto::Instant sent) const {
    return static_cast<std::size_t>((sent.ns - sender_.phase.ns) / sender_.period.ns) % places_.size();
}

Duration QuietTelegrams::draw_ordinary(std::size_t place) {
    for (;;) {
        const Duration delay = delays_.at(draws_.at(made_++));
        if (ordinary(place, delay)) return delay;
    }
}

Strangeness QuietTelegrams::draw_strange(std::size_t at) {
    const Place& place = places_[at];
    // One thing after the other: while nothing has happened yet, by the odds under the condition that something does.
    const std::array<double, 4> alone{place.late, lost_, turns_, bent_};
    std::array<double, 5> some{};  // of any from that one on
    for (std::size_t i = alone.size(); i-- > 0;) some[i] = either(alone[i], some[i + 1]);
    proto::require(some[0] > 0.0, "a strange telegram where none can be");
    std::array<bool, 4> happened{};
    bool any = false;
    for (std::size_t i = 0; i < alone.size(); ++i) {
        happened[i] = even() * (any ? 1.0 : some[i]) < alone[i];
        any = any || happened[i];
    }
    Strangeness strange;
    strange.lost = happened[1];
    strange.turns_bad = happened[2];
    strange.bent = happened[3];
    strange.bend_draw = scale(draws_.at(made_++), bent_below_);
    if (!happened[0]) {
        strange.delay = draw_ordinary(at);
        return strange;
    }
    const double where = even() * place.outside.back().weight;
    const auto part = std::find_if(place.outside.begin(), place.outside.end() - 1,
                                   [where](const Part& each) { return where < each.weight; });
    strange.delay = Duration{part->low + static_cast<std::int64_t>(scale(draws_.at(made_++), part->values))};
    return strange;
}

}  // namespace sim
