#include "sim/studies/value_check.hpp"

#include <algorithm>
#include <array>
#include <cstdint>
#include <optional>
#include <utility>
#include <vector>

#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/scenario/value_codec.hpp"
#include "sim/studies/mend.hpp"
#include "sim/timing/bounds.hpp"

namespace sim {
namespace {

/// Where a byte typed at an end lies on the wire.
unsigned on_wire(unsigned byte, const proto::LinkSettings& link, Direction direction) {
    const unsigned payload = sender(direction) == link.end ? link.payload_sent : link.payload_received;
    const bool in_pair = (byte | 1U) < payload;
    return link.byte_order == proto::ByteOrder::low_first && in_pair ? byte ^ 1U : byte;
}

/// What decides how the bytes on the wire are read there.
struct Meaning {
    std::vector<unsigned> bytes;  ///< on the wire, from the most significant one
    bool has_sign = false;
    std::int64_t scale = 1;
    friend bool operator==(const Meaning&, const Meaning&) = default;
};

Meaning meaning_at(const Scenario& s, End end, std::size_t value) {
    const TypedValue& typed = s.values.at(end, value);
    Meaning meaning{bytes_from_the_highest(typed), lowest_count(typed.type) < 0, typed.scale};
    for (unsigned& byte : meaning.bytes) byte = on_wire(byte, s.end(end).link, s.values.all[value].direction);
    return meaning;
}

/// Then the bits in use are the same for it, whatever else differs.
bool in_the_same_bytes(const Scenario& s, std::size_t value) {
    std::vector<unsigned> a = meaning_at(s, End::controller, value).bytes, b = meaning_at(s, End::device, value).bytes;
    std::sort(a.begin(), a.end());
    std::sort(b.begin(), b.end());
    return a == b;
}

std::string shown_bytes(const TypedValue& typed) {
    const unsigned size = bytes_of(typed.type), last = typed.at + size - 1;
    if (size == 1) return "byte " + std::to_string(typed.at);
    return "bytes " + std::to_string(typed.at) + (size == 2 ? " and " : " to ") + std::to_string(last);
}

std::array<std::uint8_t, proto::payload_bytes_max> to_wire(
    const std::array<std::uint8_t, proto::payload_bytes_max>& typed, const proto::LinkSettings& link, Direction way) {
    std::array<std::uint8_t, proto::payload_bytes_max> moved{};
    for (unsigned i = 0; i < moved.size(); ++i)
        if (const unsigned to = on_wire(i, link, way); to < moved.size()) moved[to] = typed[i];
    return moved;
}

/// What the receiver reads where the sender means `said`, with nothing else in the payload.
std::int64_t read_for(const Scenario& s, std::size_t value, std::int64_t said) {
    const SafeValue& what = s.values.all[value];
    const End from = sender(what.direction), to = receiver(what.direction);
    std::array<std::uint8_t, proto::payload_bytes_max> payload{};
    put_count(s.values.at(from, value), count_of(s.values.at(from, value), said, what.safe), payload);
    payload = to_wire(payload, s.end(from).link, what.direction);
    payload = to_wire(payload, s.end(to).link, what.direction);  // the exchange of pairs undoes itself
    return quantity_in(s.values.at(to, value), payload);
}

/// What is really said, where it is known; of a speed that is as it comes, the end that permits most.
std::vector<std::int64_t> examples_of(const Scenario& s, std::size_t value) {
    const SafeValue& what = s.values.all[value];
    std::vector<std::int64_t> all;
    for (const ValueSource::Step& step : what.source.steps)
        if (step.is != 0) all.push_back(step.is);
    if (what.source.kind == ValueSource::Kind::machine_state)
        all = {what.source.full, what.source.reduced, what.source.stands};
    if (what.source.kind == ValueSource::Kind::machine_speed && s.machine) all = {s.machine->speed_um_s};
    all.push_back(what.safe == SafeEnd::low ? what.high : what.low);
    all.push_back(s.values.at(sender(what.direction), value).scale);
    return all;
}

/// "100 mm/s is read as 25600 mm/s", of the first value that is read as another.
std::string example_of(const Scenario& s, std::size_t value) {
    const SafeValue& what = s.values.all[value];
    for (const std::int64_t said : examples_of(s, value)) {
        if (!what.in_range(said)) continue;
        const TypedValue& typed = s.values.at(sender(what.direction), value);
        const std::int64_t meant = count_of(typed, said, what.safe) * typed.scale;
        const std::int64_t read = read_for(s, value, said);
        if (read == meant) continue;
        return in_words(meant, what.unit) + " is read as " + in_words(read, what.unit) +
               (what.in_range(read)
                    ? ""
                    : ", out of range: the substitute " + in_words(what.substitute(), what.unit) + " is used instead");
    }
    return "what is sent and what is read is the same as long as nothing else lies in those bytes";
}

}  // namespace

namespace {

std::string in_words(const TypedValue& typed, ValueUnit unit) {
    std::string words = shown_bytes(typed) + ", " + std::string(name_of(typed.type));
    if (bytes_of(typed.type) > 1) words += ", " + std::string(words_of(typed.order));
    return words + ", " + in_words(typed.scale, unit) + " a count";
}

/// Where an end has it otherwise than was meant.
Mend mend_value(const Scenario& s, std::size_t value) {
    const std::string watch = "read one value off at each end and compare";
    if (value < s.meant.values.size()) {
        const TypedValue& meant = s.meant.values[value];
        const MendAt at =
            where_wrong(s.values.at(End::controller, value) != meant, s.values.at(End::device, value) != meant);
        if (at != MendAt::design)
            return {at, ends_in_words(s, at) + ": " + in_words(meant, s.values.all[value].unit) + ", as " +
                            (s.meant.file.empty() ? std::string("its [[value]]") : s.meant.file) + " has it; " + watch};
    }
    return {MendAt::design, "see in the manual of " + s.end(sender(s.values.all[value].direction)).name +
                                " how it is sent, then type the same at both ends; " + watch};
}

}  // namespace

std::string place_in_words(const Scenario& s, End end, std::size_t value) {
    return in_words(s.values.at(end, value), s.values.all[value].unit);
}

void compare_values(const Scenario& s, Direction direction, bool seen, CrossCheck& result) {
    const std::string toward = "to " + s.end(receiver(direction)).name;
    for (std::size_t i = 0; i < s.values.all.size(); ++i) {
        const SafeValue& value = s.values.all[i];
        if (value.direction != direction) continue;
        ++result.compared;
        const bool same = meaning_at(s, End::controller, i) == meaning_at(s, End::device, i);
        Difference d;
        d.setting = "value " + value.name + ", " + toward;
        d.controller = place_in_words(s, End::controller, i);
        d.device = same ? d.controller : place_in_words(s, End::device, i);
        ComparedSetting compared{d};
        compared.setting = d.setting;
        compared.seen_at_controller = compared.seen_at_device = "Running";
        if (i < s.meant.values.size()) compared.meant = in_words(s.meant.values[i], value.unit);
        result.settings.push_back(std::move(compared));
        if (same) continue;
        const std::string example = example_of(s, i);
        if (seen && !in_the_same_bytes(s, i)) {
            const std::string bits = "bits in use " + toward;
            d.seen_at_controller = "The other end refuses the parameters: " + bits;
            d.seen_at_device = "Start refused: " + bits + " differ";
        } else {
            d.seen_at_controller = d.seen_at_device = "Running, and " + example;
        }
        Mend mend = mend_value(s, i);
        d.mend = std::move(mend.words);
        d.mend_at = mend.at;
        result.differences.push_back(std::move(d));
    }
}

void add_value_cautions(const Scenario& s, CrossCheck& result) {
    if (!s.values.any()) return;
    result.undetectable.emplace_back(
        "a value with another place, byte order, type or scale at one end: the parameter signature covers which bits "
        "are "
        "in use, not what they mean; read one value off at each end and compare");
    for (const SafeValue& value : s.values.all) {
        if (value.source.kind != ValueSource::Kind::over_time) continue;
        const Duration least = least_hold(s, sender(value.direction));
        const std::vector<ValueSource::Step>& steps = value.source.steps;
        for (std::size_t i = 1; i + 1 < steps.size(); ++i) {
            const Duration held = steps[i + 1].at - steps[i].at;
            const bool dips =
                value.is_safer(steps[i].is, steps[i - 1].is) && value.is_safer(steps[i].is, steps[i + 1].is);
            if (!dips || held >= least) continue;
            result.cautions.push_back(value.name + " is " + in_words(steps[i].is, value.unit) + " for " +
                                      written(held) + " only; under " + written(least) +
                                      " it may fall between two exchanges and vanish without any fault");
        }
    }
}

}  // namespace sim
