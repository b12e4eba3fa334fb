#include "sim/reading/value_places.hpp"

#include <algorithm>
#include <array>
#include <limits>
#include <string>
#include <utility>

#include "sim/reading/named_things.hpp"
#include "sim/reading/parts.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/value_codec.hpp"

namespace sim {
namespace {

/// On top of what holds for both ends, or for both so far.
void read_place(Section& section, const SafeValue& value, TypedValue& typed) {
    typed.where = section.place();
    const auto type = section.choice<ValueType>("type", {{"u8", ValueType::u8},
                                                         {"u16", ValueType::u16},
                                                         {"i16", ValueType::i16},
                                                         {"u32", ValueType::u32},
                                                         {"i32", ValueType::i32}});
    typed.type = type.value_or(typed.type);
    typed.order = read_order(section).value_or(typed.order);
    if (const auto at = section.integer("at", 0, proto::payload_bytes_max - 1)) typed.at = static_cast<unsigned>(*at);
    if (const auto scale = read_scale(section, typed.type)) {
        if (scale->unit == value.unit)
            typed.scale = scale->one;
        else
            section.say("scale", "is of another kind than that of [[value]]; write one such as \"" +
                                     in_words(typed.scale, value.unit) + "\"");
    }
    section.finish();
}

void read_map(Section& map, const Scenario& scenario, std::vector<TypedValue>& typed, std::vector<bool>& sound) {
    holds_any_name(map);
    for (const Member& member : map.node().members) {
        const std::size_t place = scenario.values.place_of(member.key);
        if (place == scenario.values.all.size()) {
            if (!map.in_doubt({"value.name"}))
                map.say(member.key,
                        "is no value" + nearest_to(scenario.values.all, member.key, "write a [[value]] first"));
            continue;
        }
        std::optional<Section> section = map.table(member.key);
        if (section) read_place(*section, scenario.values.all[place], typed[place]);
        if (map.wrong(member.key)) sound[place] = false;
    }
}

/// "bytes 2 and 3", "byte 4", "bytes 4 to 7".
std::string shown(const TypedValue& typed) {
    const unsigned size = bytes_of(typed.type), last = typed.at + size - 1;
    if (size == 1) return "byte " + std::to_string(typed.at);
    return "bytes " + std::to_string(typed.at) + (size == 2 ? " and " : " to ") + std::to_string(last);
}

bool overlap(const TypedValue& a, const TypedValue& b) {
    return a.at < b.at + bytes_of(b.type) && b.at < a.at + bytes_of(a.type);
}

class PlaceCheck {
  public:
    PlaceCheck(TypedEnd& end, const Scenario& scenario, const std::vector<bool>& sound, Problems& problems)
        : end_(end), scenario_(scenario), values_(scenario.values), sound_(sound), problems_(problems) {}

    void check_all() {
        for (std::size_t i = 0; i < values_.all.size(); ++i)
            if (sound_[i] && fits(i) && is_free(i)) take(i);
    }

  private:
    [[nodiscard]] const TypedValue& typed(std::size_t value) const { return values_.at(end_.link.end, value); }
    [[nodiscard]] bool sends(std::size_t value) const { return sender(values_.all[value].direction) == end_.link.end; }
    [[nodiscard]] std::string end_name() const { return end_.link.end == End::controller ? "controller" : "device"; }

    bool fits(std::size_t value) {
        const TypedValue& t = typed(value);
        const unsigned payload = sends(value) ? end_.link.payload_sent : end_.link.payload_received;
        const unsigned size = bytes_of(t.type);
        if (t.at + size > payload) {
            problems_.say(t.where, shown(t) + (size == 1 ? " is" : " are") + " past the payload of " +
                                       std::to_string(payload) + " bytes at the " + end_name() + "; write " +
                                       (size <= payload ? "at = " + std::to_string(payload - size) + " or less"
                                                        : "a longer payload"));
            return false;
        }
        if (t.order == ValueOrder::word_swapped && size != 4) {
            problems_.say(t.where, std::string(name_of(t.type)) +
                                       " has no two words to exchange; write order = \"low-first\" or \"high-first\"");
            return false;
        }
        return can_be_reckoned_with(value) && (!sends(value) || range_fits(value));
    }

    /// The scale may be of one table and the type of another.
    bool can_be_reckoned_with(std::size_t value) {
        const TypedValue& t = typed(value);
        if (t.scale <= scale_most(t.type)) return true;
        problems_.say(t.where, "its scale at the " + end_name() + " is too coarse for " + std::string(name_of(t.type)) +
                                   "; write a finer one");
        return false;
    }

    /// All that may be meant can be said, at the end that says it; what the other end makes of it is compared, not
    /// refused.
    bool range_fits(std::size_t value) {
        const TypedValue& t = typed(value);
        const SafeValue& v = values_.all[value];
        if (v.low % t.scale == 0 && v.high % t.scale == 0 && v.low / t.scale >= lowest_count(t.type) &&
            v.high / t.scale <= highest_count(t.type))
            return true;
        problems_.say(t.where, "the range of " + in_words(v.low, v.unit) + " to " + in_words(v.high, v.unit) +
                                   " does not fit whole counts of " + in_words(t.scale, v.unit) + " in " +
                                   std::string(name_of(t.type)) + ", as the " + end_name() +
                                   " sends them; write range at [[value]], or another type or scale");
        return false;
    }

    bool is_free(std::size_t value) {
        const TypedValue& t = typed(value);
        for (std::size_t other = 0; other < value; ++other) {
            if (!sound_[other] || sends(other) != sends(value) || !overlap(t, typed(other))) continue;
            problems_.say(t.where, shown(t) + " at the " + end_name() + ": " + values_.all[other].name + " lies in " +
                                       shown(typed(other)) + "; write another at");
            return false;
        }
        for (const TypedBit& bit : end_.bits) {
            const Signal* signal = named(scenario_.signals, bit.signal);
            if (signal == nullptr || (sender(signal->direction) == end_.link.end) != sends(value)) continue;
            if (bit.place.byte < t.at || bit.place.byte >= t.at + bytes_of(t.type)) continue;
            problems_.say(t.where, shown(t) + " at the " + end_name() + ": the bit of " + bit.signal +
                                       " lies in byte " + std::to_string(bit.place.byte) + "; write another at");
            return false;
        }
        return true;
    }

    void take(std::size_t value) {
        proto::BitUse& used = sends(value) ? end_.link.bits_sent : end_.link.bits_received;
        for (const unsigned byte : bytes_from_the_highest(typed(value))) used[byte] = 0xFF;
    }

    TypedEnd& end_;
    const Scenario& scenario_;
    const Values& values_;
    const std::vector<bool>& sound_;
    Problems& problems_;
};

}  // namespace

std::optional<ValueOrder> read_order(Section& section) {
    return section.choice<ValueOrder>("order", {{"high-first", ValueOrder::high_first},
                                                {"low-first", ValueOrder::low_first},
                                                {"word-swapped", ValueOrder::word_swapped}});
}

std::int64_t scale_most(ValueType type) { return std::numeric_limits<std::int64_t>::max() / 4 / highest_count(type); }

std::optional<Scale> read_scale(Section& section, ValueType type) {
    const Node* node = section.find("scale");
    holds(section, "scale", KeyShape::of(KeyShape::Kind::any_quantity));
    if (node == nullptr) return std::nullopt;
    const auto read = scale_in(*node);
    if (!read) {
        section.say("scale", read.error());
        return std::nullopt;
    }
    if (read.value().one > scale_most(type)) {
        section.say("scale", "is too coarse for " + std::string(name_of(type)) + "; write a finer one");
        return std::nullopt;
    }
    return read.value();
}

void read_value_places(Section& top, Scenario& scenario, const std::vector<TypedValue>& shared,
                       const std::vector<bool>& sound) {
    std::vector<TypedValue> both = shared;
    std::vector<bool> right = sound;
    if (std::optional<Section> map = top.table("values")) read_map(*map, scenario, both, right);
    scenario.meant.values = both;
    const std::array<std::pair<const char*, TypedEnd*>, 2> ends{
        {{"controller", &scenario.controller}, {"device", &scenario.device}}};
    for (const auto& [name, end] : ends) {
        std::vector<TypedValue>& typed = scenario.values.typed[static_cast<std::size_t>(end->link.end) & 1];
        typed = both;
        std::vector<bool> here = right;
        std::optional<Section> table = top.table(name);
        if (table)
            if (std::optional<Section> map = table->table("values")) read_map(*map, scenario, typed, here);
        if (!top.in_doubt({"link", "value.name", "value.direction", "signal", "bits"}))
            PlaceCheck(*end, scenario, here, top.problems()).check_all();
    }
}

}  // namespace sim
