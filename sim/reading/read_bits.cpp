#include <algorithm>
#include <array>
#include <charconv>

#include "sim/reading/parts.hpp"
#include "sim/scenario/nearest.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

std::optional<BitPlace> bit_place_in(std::string_view text) {
    BitPlace place;
    const char* end = text.data() + text.size();
    const auto byte = std::from_chars(text.data(), end, place.byte);
    if (byte.ec != std::errc{} || byte.ptr == end || *byte.ptr != '.') return std::nullopt;
    const auto bit = std::from_chars(byte.ptr + 1, end, place.bit);
    if (bit.ec != std::errc{} || bit.ptr != end || place.bit > 7) return std::nullopt;
    return place;
}

namespace {

/// All entries of a bit map, in the order of lines; a later map takes the place of a signal in an earlier one.
void collect(Section& map, std::vector<TypedBit>& bits, const Scenario& scenario) {
    holds_any_name(map);
    holds(map, "*", KeyShape::pattern("^[0-9]+\\.[0-7]$"));
    std::vector<std::string> names;
    for (const Signal& signal : scenario.signals)
        if (!signal.elsewhere) names.push_back(signal.name);
    for (const Member& member : map.node().members) {
        const Place where = map.place(member.key);
        if (std::find(names.begin(), names.end(), member.key) == names.end()) {
            if (map.in_doubt({"signal.name"})) continue;
            const bool elsewhere =
                std::any_of(scenario.signals.begin(), scenario.signals.end(),
                            [&](const Signal& signal) { return signal.elsewhere && signal.name == member.key; });
            if (elsewhere) {
                map.say(member.key, "is a signal of another link; write its bit there");
                continue;
            }
            map.say(member.key, "is no signal; " + (names.empty() ? std::string("write a [[signal]] first")
                                                                  : offered_for(member.key, names)));
            continue;
        }
        const auto place = member.value.kind == Node::Kind::text ? bit_place_in(member.value.text) : std::nullopt;
        if (!place) {
            map.say(member.key, R"(is no place of a bit; write "BYTE.BIT" with a bit of 0 to 7, such as "0.3")");
            continue;
        }
        const auto same =
            std::find_if(bits.begin(), bits.end(), [&](const TypedBit& b) { return b.signal == member.key; });
        if (same != bits.end()) {
            same->place = *place;
            same->where = where;
        } else {
            bits.push_back({member.key, *place, where});
        }
    }
}

Direction direction_of(const Scenario& scenario, const std::string& signal) {
    for (const Signal& s : scenario.signals) {
        if (s.name == signal) return s.direction;
    }
    return Direction::to_device;
}

std::string shown(BitPlace place) { return "byte " + std::to_string(place.byte) + " bit " + std::to_string(place.bit); }

/// The first bit of a way that nobody uses, in the same byte if there is one.
std::string free_bit(const proto::BitUse& used, unsigned payload_bytes, unsigned byte) {
    for (unsigned i = 0; i < payload_bytes; ++i) {
        const unsigned at = (byte + i) % payload_bytes;
        for (unsigned bit = 0; bit < 8; ++bit) {
            if ((used[at] >> bit & 1U) == 0)
                return "\"" + std::to_string(at) + "." + std::to_string(bit) + "\" is free";
        }
    }
    return "no bit is free, take a longer payload";
}

/// Which bits of each way are used at an end.
struct UsedBits {
    proto::BitUse sent{}, received{};
};

bool sends(const TypedEnd& end, const Scenario& scenario, const TypedBit& bit) {
    return sender(direction_of(scenario, bit.signal)) == end.link.end;
}

/// Nothing if one lies outside the payload; that is said.
std::optional<UsedBits> used_bits(const TypedEnd& end, const Scenario& scenario, Problems& problems) {
    UsedBits used;
    for (const TypedBit& bit : end.bits) {
        const bool sent = sends(end, scenario, bit);
        const unsigned payload = sent ? end.link.payload_sent : end.link.payload_received;
        if (bit.place.byte >= payload) {
            problems.say(bit.where, shown(bit.place) + " is outside the payload of " + std::to_string(payload) +
                                        " bytes; write a byte of 0 to " + std::to_string(payload - 1));
            return std::nullopt;
        }
        std::uint8_t& use = (sent ? used.sent : used.received)[bit.place.byte];
        use = static_cast<std::uint8_t>(use | 1U << bit.place.bit);
    }
    return used;
}

void place_bits(TypedEnd& end, const Scenario& scenario, Problems& problems) {
    proto::LinkSettings& link = end.link;
    // All of them first, so that a free bit is free of those that come later too.
    const std::optional<UsedBits> all = used_bits(end, scenario, problems);
    if (!all) return;
    for (auto bit = end.bits.begin(); bit != end.bits.end(); ++bit) {
        const bool sent = sends(end, scenario, *bit);
        for (auto before = end.bits.begin(); before != bit; ++before) {
            if (before->place != bit->place || sends(end, scenario, *before) != sent) continue;
            const bool blame_this = bit->where.line >= before->where.line;
            const TypedBit& late = blame_this ? *bit : *before;
            const TypedBit& early = blame_this ? *before : *bit;
            problems.say(late.where, shown(late.place) + " is taken by " + early.signal + " (line " +
                                         std::to_string(early.where.line) + "); " +
                                         free_bit(sent ? all->sent : all->received,
                                                  sent ? link.payload_sent : link.payload_received, late.place.byte));
        }
    }
    link.bits_sent = all->sent;
    link.bits_received = all->received;
}

}  // namespace

void read_bits(Section& top, Scenario& scenario) {
    std::vector<TypedBit> shared;
    if (std::optional<Section> map = top.table("bits")) collect(*map, shared, scenario);
    scenario.meant.bits = shared;
    const std::array<std::pair<const char*, TypedEnd*>, 2> ends{
        {{"controller", &scenario.controller}, {"device", &scenario.device}}};
    for (const auto& [name, end] : ends) {
        end->bits = shared;
        std::optional<Section> table = top.table(name);
        if (!table) continue;
        if (std::optional<Section> map = table->table("bits")) collect(*map, end->bits, scenario);
        for (const Signal& signal : scenario.signals) {
            if (signal.elsewhere) continue;
            const bool placed = std::any_of(end->bits.begin(), end->bits.end(),
                                            [&](const TypedBit& b) { return b.signal == signal.name; });
            if (!placed && !top.in_doubt({"bits", "link.bits", "signal.name"})) {
                top.problems().say(signal.where, in_quotes(signal.name) + " has no bit at the " + name + "; write " +
                                                     signal.name + " = \"0.0\", or another free bit, below [bits]");
            }
        }
        if (!top.in_doubt({"link", "signal.name", "signal.direction"})) place_bits(*end, scenario, top.problems());
    }
}

}  // namespace sim
