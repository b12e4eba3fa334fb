#include "sim/plant/station_values.hpp"

#include <algorithm>

#include "sim/plant/plant.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/value_codec.hpp"

namespace sim {
namespace {

constexpr std::uint32_t bit(std::size_t i) { return std::uint32_t{1} << i; }

void take(ValueWord& to, const ValueWord& from, std::size_t value) {
    to.is[value] = from.is[value];
    to.substitute = (to.substitute & ~bit(value)) | (from.substitute & bit(value));
    to.out_of_range = (to.out_of_range & ~bit(value)) | (from.out_of_range & bit(value));
}

}  // namespace

StationValues::StationValues(const Scenario& scenario, End end)
    : end_(end), scenario_(scenario), values_(scenario.values), reduced_from_(values_.all.size()) {
    for (std::size_t i = 0; i < values_.all.size(); ++i) {
        const SafeValue& value = values_.all[i];
        none_.is[i] = value.substitute();
        none_.substitute |= bit(i);
        const bool sends = sender(value.direction) == end;
        (sends ? sent_ : received_).push_back(i);
        changes_ = changes_ || (sends && value.source.kind != ValueSource::Kind::constant);
        if (!sends || value.source.kind != ValueSource::Kind::passed_on) continue;
        const std::size_t of = values_.place_of(value.source.from);
        sources_.push_back({i, nullptr, of, !value.source.from_elsewhere && of < values_.all.size()});
    }
    any_ = !sent_.empty() || !received_.empty();
    if (scenario.machine && scenario.machine->at == end && !scenario.machine->reduced_speed_from.empty())
        reduced_from_ = values_.place_of(scenario.machine->reduced_speed_from);
    begin_again();
}

void StationValues::begin_again() {
    used_ = held_ = proper_ = meant_ = put_out_ = told_ = none_;
    told_running_ = told_any_ = false;
}

void StationValues::pass_on(std::size_t value, const StationValues& from, std::size_t from_value) {
    for (Source& source : sources_)
        if (source.value == value) source = {value, &from, from_value, true};
}

std::optional<std::int64_t> StationValues::passed_on(std::size_t value, Uses uses) const {
    const SafeValue& what = values_.all[value];
    for (const Source& source : sources_) {
        if (source.value != value || !source.known) continue;
        const StationValues& station = source.station != nullptr ? *source.station : *this;
        const ValueWord& word = uses == Uses::properly ? station.proper_ : station.held_;
        if (word.is_substitute(source.of)) return std::nullopt;
        return word.is[source.of];
    }
    return what.safe == SafeEnd::low ? what.high : what.low;
}

ValueWord StationValues::read(std::span<const std::uint8_t> input) const {
    ValueWord found = none_;
    // an end that does not run sends zeros: they are no values
    if (std::all_of(input.begin(), input.end(), [](std::uint8_t byte) { return byte == 0; })) return found;
    for (const std::size_t i : received_) {
        const std::int64_t quantity = quantity_in(values_.at(end_, i), input);
        if (values_.all[i].in_range(quantity)) {
            found.is[i] = quantity;
            found.substitute &= ~bit(i);
        } else {
            found.out_of_range |= bit(i);
        }
    }
    return found;
}

/// What the sources say now, as it can be sent: in whole counts, rounded towards the safe end.
ValueWord StationValues::looked_at(const Plant& plant, proto::Instant now, Uses uses) const {
    ValueWord found = none_;
    for (const std::size_t i : sent_) {
        const SafeValue& value = values_.all[i];
        const std::optional<std::int64_t> said = value.source.kind == ValueSource::Kind::passed_on
                                                     ? passed_on(i, uses)
                                                     : said_by(value.source, plant.machine(), now);
        if (!said) continue;
        const std::int64_t quantity = values_.at(end_, i).scale * count_of(values_.at(end_, i), *said, value.safe);
        if (!value.in_range(quantity)) continue;
        found.is[i] = quantity;
        found.substitute &= ~bit(i);
    }
    return found;
}

std::optional<std::int64_t> said_by(const ValueSource& source, const MachineModel* machine, proto::Instant now) {
    switch (source.kind) {
        case ValueSource::Kind::constant: return source.steps.front().is;
        case ValueSource::Kind::over_time: {
            std::optional<std::int64_t> said;
            for (const ValueSource::Step& step : source.steps)
                if (proto::Instant{} + step.at <= now) said = step.is;
            return said;
        }
        case ValueSource::Kind::machine_state:
            if (machine == nullptr) return std::nullopt;
            if (!machine->moving(now)) return source.stands;
            return machine->reduced_at() <= now ? source.reduced : source.full;
        case ValueSource::Kind::machine_speed:
            if (machine == nullptr) return std::nullopt;
            return machine->speed(now);
        case ValueSource::Kind::passed_on: break;
    }
    return std::nullopt;
}

void StationValues::use(std::span<const std::uint8_t> input, bool running) {
    held_ = running ? read(input) : none_;
    used_ = proper_ = held_;
}

void StationValues::send(const Plant& plant, bool running, std::span<std::uint8_t> output, proto::Instant now) {
    put_out_ = looked_at(plant, now, Uses::really);
    for (const std::size_t i : sent_) {
        const TypedValue& typed = values_.at(end_, i);
        put_count(typed, put_out_.is[i] / typed.scale, output);
    }
    meant_ = running ? put_out_ : none_;
}

void StationValues::freeze(const Plant& plant, proto::Instant now) {
    const ValueWord true_now = looked_at(plant, now, Uses::properly);
    used_ = held_;
    for (const std::size_t i : received_)
        if (values_.all[i].is_safer(held_.is[i], proper_.is[i])) take(used_, proper_, i);
    meant_ = put_out_;
    for (const std::size_t i : sent_)
        if (values_.all[i].is_safer(true_now.is[i], put_out_.is[i])) take(meant_, true_now, i);
}

bool StationValues::take_news(bool running) {
    if (sent_.empty()) return false;
    if (told_any_ && told_ == meant_ && told_running_ == running) return false;
    told_ = meant_;
    told_running_ = running;
    told_any_ = true;
    return true;
}

std::optional<std::int64_t> StationValues::reduced_speed() const {
    if (reduced_from_ >= values_.all.size()) return std::nullopt;
    return held_.is[reduced_from_];
}

}  // namespace sim
