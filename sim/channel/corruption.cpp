// Corruption: bits that flip and bytes that go missing, anywhere in a telegram or in a named field of it.
#include <algorithm>
#include <array>
#include <bitset>
#include <numeric>
#include <utility>
#include <vector>

#include "sim/channel/bit_errors.hpp"
#include "sim/channel/triggered_stage.hpp"
#include "sim/scenario/faults.hpp"

namespace sim {

namespace {

constexpr unsigned bits_max = BitErrors::bits_max;

/// In which order a CRC takes the bits of each byte: a reflected one from the lowest on. Its own value goes out least
/// significant byte first if its result is reflected, so there the lowest bit comes first too.
struct BitOrder {
    bool data_low_first = false;
    bool crc_low_first = false;
    unsigned crc_begins = 0;  ///< byte in a copy
    unsigned copy_bytes = 1;

    /// The wire's number of the bit (counted from the first byte's highest) that is number `index` in the CRC's order.
    [[nodiscard]] unsigned on_wire(unsigned index) const {
        const bool in_crc = index / 8 % copy_bytes >= crc_begins;
        return (in_crc ? crc_low_first : data_low_first) ? index ^ 7U : index;
    }
};

BitOrder order_of(const Wire& wire, const Tag& tag) {
    // A parameter telegram has a CRC of its own, which is not reflected.
    if (tag.parameter || !wire.profile.crc) return {};
    return {wire.profile.crc->reflect_in, wire.profile.crc->reflect_out, wire.layout.copy_bytes - wire.layout.crc_bytes,
            wire.layout.copy_bytes};
}

/// The bits that may be hit, by their numbers on the wire.
struct Target {
    std::vector<std::uint16_t> bits;  ///< in the order of the wire
    std::vector<std::uint16_t>
        bursts;  ///< where a burst may begin, in the CRC's order: first and last bit hit the target
    std::bitset<bits_max> has;
    BitOrder order;
};

void add_field(std::vector<std::uint16_t>& bits, proto::FieldPlace place, unsigned copy_begins) {
    for (unsigned i = 0; i < place.bits; ++i)
        bits.push_back(static_cast<std::uint16_t>(copy_begins + place.first_bit + i));
}

/// The bits of a field in all copies, or all of `size_bits`.
std::vector<std::uint16_t> bits_of(TelegramField field, const Wire& wire, unsigned size_bits) {
    std::vector<std::uint16_t> bits;
    if (field == TelegramField::whole) {
        bits.resize(size_bits);
        std::iota(bits.begin(), bits.end(), std::uint16_t{0});
        return bits;
    }
    const proto::FieldPlaces& places = wire.places;
    for (unsigned copy = 0; copy < wire.profile.copies; ++copy) {
        const unsigned begin = copy * wire.layout.copy_bytes * 8;
        switch (field) {
            case TelegramField::whole: break;
            case TelegramField::status: add_field(bits, places.status, begin); break;
            case TelegramField::address:
                add_field(bits, places.source, begin);
                add_field(bits, places.destination, begin);
                break;
            case TelegramField::sequence: add_field(bits, places.number, begin); break;
            case TelegramField::payload: add_field(bits, places.payload, begin); break;
            case TelegramField::crc: add_field(bits, places.crc, begin); break;
        }
    }
    return bits;
}

class Corruption final : public TriggeredStage {
  public:
    Corruption(const Fault& fault, std::size_t index, const StageContext& context)
        : TriggeredStage(fault, index, context) {
        if (fault.way == FaultWay::bit_rate) rate_ = BitErrors(fault.rate, 0);
    }

  private:
    Pass act(const Case& c) override {
        Telegram before;
        before.assign(c.telegram.view());
        bend(c.telegram, c.passage.tag);
        const auto is = c.telegram.view();
        const auto was = before.view();
        if (std::equal(was.begin(), was.end(), is.begin(), is.end())) return Pass::deliver;
        c.passage.tag.altered = true;
        touch(c);
        return Pass::deliver;
    }

    void bend(Telegram& telegram, const Tag& tag) {
        if (fault().way == FaultWay::truncate) {
            telegram.size =
                static_cast<std::uint16_t>(telegram.size - std::min<unsigned>(fault().count, telegram.size));
            return;
        }
        // A named field has its place in process telegrams of full length only.
        const Wire& wire = context().wire(tag.direction);
        const bool whole = fault().field == TelegramField::whole;
        if (!whole && (tag.parameter || telegram.size != wire.layout.total_bytes)) return;
        const Target& target = target_for(tag, telegram.size * 8U);
        switch (fault().way) {
            case FaultWay::flip_bits: flip_listed(telegram, target); break;
            case FaultWay::random_bits: flip_random(telegram, target); break;
            case FaultWay::burst: flip_burst(telegram, target); break;
            default: flip_at_rate(telegram, target); break;
        }
    }

    /// `bits` of the fault count within the target: in a field, from its first bit on, then in the second copy.
    void flip_listed(Telegram& telegram, const Target& target) const {
        for (const unsigned index : fault().bits) {
            if (index < target.bits.size()) flip(telegram.view(), target.bits[index]);
        }
    }

    /// So many different bits, each choice equally likely (Floyd's sampling: Bentley, Comm. ACM 30, 1987): one draw a
    /// bit, whatever their number.
    void flip_random(Telegram& telegram, const Target& target) {
        const auto all = static_cast<unsigned>(target.bits.size());
        std::bitset<bits_max> chosen;
        for (unsigned last = all - std::min(fault().count, all); last < all; ++last) {
            auto index = static_cast<unsigned>(draw_below(last + 1));
            if (chosen[index]) index = last;
            chosen[index] = true;
            flip(telegram.view(), target.bits[index]);
        }
    }

    /// First and last bit flipped, those between by lot, none outside the target.
    void flip_burst(Telegram& telegram, const Target& target) {
        const unsigned length = fault().length;
        if (length == 0 || target.bursts.empty()) return;
        const unsigned begin = target.bursts[draw_below(target.bursts.size())];
        std::uint64_t lots = 0;
        for (unsigned i = 0; i < length; ++i) {
            if (i % 64 == 0) lots = draw();
            const unsigned bit = target.order.on_wire(begin + i);
            const bool end = i == 0 || i + 1 == length;
            if (end || (target.has[bit] && (lots >> (i % 64) & 1) != 0)) flip(telegram.view(), bit);
        }
    }

    void flip_at_rate(Telegram& telegram, const Target& target) {
        if (!rate_.any()) return;
        const auto all = static_cast<unsigned>(target.bits.size());
        rate_.reach(all);
        for (unsigned at = 0; at < all; ++at) {
            at += rate_.first_flip(draw(), all - at);
            if (at < all) flip(telegram.view(), target.bits[at]);
        }
    }

    /// Kept from the last telegram of that direction, since kind and length hardly ever change.
    const Target& target_for(const Tag& tag, unsigned size_bits) {
        Known& known = known_[static_cast<std::size_t>(tag.direction)];
        if (known.size_bits == size_bits && known.parameter == tag.parameter) return known.target;
        const Wire& wire = context().wire(tag.direction);
        Target target;
        target.order = order_of(wire, tag);
        target.bits = bits_of(fault().field, wire, size_bits);
        for (const std::uint16_t bit : target.bits) target.has[bit] = true;
        for (unsigned begin = 0; fault().length != 0 && begin + fault().length <= size_bits; ++begin) {
            const unsigned end = begin + fault().length - 1;
            if (target.has[target.order.on_wire(begin)] && target.has[target.order.on_wire(end)]) {
                target.bursts.push_back(static_cast<std::uint16_t>(begin));
            }
        }
        known = {size_bits, tag.parameter, std::move(target)};
        return known.target;
    }

    struct Known {
        unsigned size_bits = 0;
        bool parameter = false;
        Target target;
    };
    std::array<Known, 2> known_;
    BitErrors rate_;
};

}  // namespace

std::unique_ptr<FaultStage> make_corruption(const Fault& fault, std::size_t index, const StageContext& context) {
    return std::make_unique<Corruption>(fault, index, context);
}

}  // namespace sim
