#include "sim/studies/bit_check.hpp"

#include <algorithm>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "sim/scenario/scenario.hpp"
#include "sim/studies/cross_check.hpp"
#include "sim/studies/mend.hpp"

namespace sim {
namespace {

using proto::LinkSettings;

struct WireBit {
    BitPlace place;
    std::string controller, device;  ///< signal on it there, empty if not in use
};

/// Where a typed bit lies in the bytes on the wire.
BitPlace on_wire(BitPlace typed, const LinkSettings& link, Direction direction) {
    const bool sends = sender(direction) == link.end;
    const unsigned payload = sends ? link.payload_sent : link.payload_received;
    const bool in_pair = (typed.byte | 1U) < payload;
    if (link.byte_order == proto::ByteOrder::low_first && in_pair) typed.byte ^= 1U;
    return typed;
}

/// The bits of one way that are in use at either end, in the order of their places.
std::vector<WireBit> wire_bits(const Scenario& s, Direction direction) {
    std::vector<WireBit> all;
    for (const TypedEnd* end : {&s.controller, &s.device}) {
        for (const TypedBit& bit : end->bits) {
            const auto signal = std::find_if(s.signals.begin(), s.signals.end(),
                                             [&](const Signal& one) { return one.name == bit.signal; });
            if (signal == s.signals.end() || signal->direction != direction) continue;
            const BitPlace place = on_wire(bit.place, end->link, direction);
            auto known = std::find_if(all.begin(), all.end(), [&](const WireBit& w) { return w.place == place; });
            if (known == all.end()) known = all.insert(all.end(), WireBit{place, "", ""});
            (end->link.end == End::controller ? known->controller : known->device) = bit.signal;
        }
    }
    std::sort(all.begin(), all.end(), [](const WireBit& a, const WireBit& b) {
        return a.place.byte != b.place.byte ? a.place.byte < b.place.byte : a.place.bit < b.place.bit;
    });
    return all;
}

/// "byte 0, bits 2 and 3"; several bytes one after the other.
std::string places_in_words(const std::vector<WireBit>& bits) {
    std::string words;
    for (std::size_t i = 0; i < bits.size();) {
        std::size_t end = i;
        while (end < bits.size() && bits[end].place.byte == bits[i].place.byte) ++end;
        words += (words.empty() ? "byte " : "; byte ") + std::to_string(bits[i].place.byte) +
                 (end - i == 1 ? ", bit " : ", bits ");
        for (std::size_t k = i; k < end; ++k) {
            if (k != i) words += k + 1 == end ? " and " : ", ";
            words += std::to_string(bits[k].place.bit);
        }
        i = end;
    }
    return words;
}

std::string signals_in_words(const std::vector<WireBit>& bits, std::string WireBit::*end) {
    std::string words;
    for (const WireBit& bit : bits)
        words += (words.empty() ? "" : ", ") + ((bit.*end).empty() ? "not in use" : bit.*end);
    return words;
}

/// "to press I/O".
std::string toward(const Scenario& s, Direction direction) { return "to " + s.end(receiver(direction)).name; }

std::string used(const std::string& signal) { return signal.empty() ? "not in use" : signal; }

const BitPlace* place_in(const std::vector<TypedBit>& bits, const std::string& signal) {
    const auto found = std::find_if(bits.begin(), bits.end(), [&](const TypedBit& b) { return b.signal == signal; });
    return found == bits.end() ? nullptr : &found->place;
}

/// By which settings a place that was meant lies on the wire; nullptr where nothing says in which order.
const LinkSettings* order_that_was_meant(const Scenario& s) {
    const LinkSettings &c = s.controller.link, &d = s.device.link;
    if (c.byte_order == d.byte_order && (!s.meant.byte_order || c.byte_order == *s.meant.byte_order)) return &c;
    if (!s.meant.byte_order) return nullptr;
    return c.byte_order == *s.meant.byte_order ? &c : d.byte_order == *s.meant.byte_order ? &d : nullptr;
}

/// Which signal was meant to be on a bit of the wire; nothing where that is not known of every signal of that way.
std::optional<std::string> meant_on(const Scenario& s, Direction direction, BitPlace wire) {
    const LinkSettings* const by = order_that_was_meant(s);
    if (by == nullptr) return std::nullopt;
    std::optional<std::string> found = used("");
    for (const Signal& signal : s.signals) {
        if (signal.direction != direction || signal.elsewhere) continue;
        const BitPlace* const meant = place_in(s.meant.bits, signal.name);
        if (meant == nullptr) return std::nullopt;
        if (on_wire(*meant, *by, direction) == wire) found = signal.name;
    }
    return found;
}

/// Of the signals whose bits differ, those that an end has elsewhere than was meant, as they are to be typed there:
/// "rope_pull_free = 0.3". Nothing where it is not known of all of them.
std::optional<std::string> to_type_at(const Scenario& s, const TypedEnd& end, const std::vector<WireBit>& differing) {
    std::string words;
    std::vector<std::string> done;
    for (const WireBit& bit : differing)
        for (const std::string& signal : {bit.controller, bit.device}) {
            if (signal.empty() || std::find(done.begin(), done.end(), signal) != done.end()) continue;
            done.push_back(signal);
            const BitPlace* const meant = place_in(s.meant.bits, signal);
            const BitPlace* const typed = place_in(end.bits, signal);
            if (meant == nullptr || typed == nullptr) return std::nullopt;
            if (*meant == *typed) continue;
            words += (words.empty() ? "" : ", ") + signal + " = " + std::to_string(meant->byte) + "." +
                     std::to_string(meant->bit);
        }
    return words;
}

Mend mend_bits(const Scenario& s, const std::vector<WireBit>& differing) {
    const std::string watch = "; demand each safeguard once and watch which signal falls";
    const auto controller = to_type_at(s, s.controller, differing), device = to_type_at(s, s.device, differing);
    const MendAt at = controller && device ? where_wrong(!controller->empty(), !device->empty()) : MendAt::design;
    if (at == MendAt::design)
        return {at, "see the design and the wiring which end is right, then type the same at the other" + watch};
    std::string words;
    if (!controller->empty()) words = s.controller.name + ": " + *controller;
    if (!device->empty()) words += (words.empty() ? "" : "; ") + s.device.name + ": " + *device;
    return {at, words + ", as " + who_says(s, "bits") + " has it" + watch};
}

}  // namespace

std::uint64_t bits_compared(const Scenario& scenario, Direction direction) {
    return std::max<std::uint64_t>(wire_bits(scenario, direction).size(), 1);
}

void compare_bits(const Scenario& s, Direction direction, bool seen, CrossCheck& result) {
    result.compared += bits_compared(s, direction);
    std::vector<WireBit> differing;
    for (const WireBit& bit : wire_bits(s, direction)) {
        ComparedSetting compared;
        compared.setting = places_in_words({bit}) + ", " + toward(s, direction);
        compared.controller = used(bit.controller);
        compared.device = used(bit.device);
        // two bits in use at both ends may change places unseen; one in use at one end only is refused
        compared.seen_at_controller = compared.seen_at_device = "Running";
        compared.meant = meant_on(s, direction, bit.place);
        result.settings.push_back(std::move(compared));
        if (bit.controller != bit.device) differing.push_back(bit);
    }
    if (differing.empty()) return;
    Difference d;
    d.setting = places_in_words(differing) + ", " + toward(s, direction);
    d.controller = signals_in_words(differing, &WireBit::controller);
    d.device = signals_in_words(differing, &WireBit::device);
    if (seen) {
        const std::string bits = "bits in use " + toward(s, direction);
        d.seen_at_controller = "The other end refuses the parameters: " + bits;
        d.seen_at_device = "Start refused: " + bits + " differ, here " + d.device + ", sent " + d.controller;
    } else {
        d.seen_at_controller = d.seen_at_device = "Running";
    }
    Mend mend = mend_bits(s, differing);
    d.mend = std::move(mend.words);
    d.mend_at = mend.at;
    result.differences.push_back(std::move(d));
}

}  // namespace sim
