#include "sim/studies/cross_check.hpp"

#include <algorithm>
#include <array>

#include "proto/parameters.hpp"
#include "sim/measures/by_design.hpp"
#include "sim/scenario/fitted_tail_words.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/studies/demand_times.hpp"
#include "sim/studies/exchanged_ends.hpp"
#include "sim/studies/link_limits.hpp"
#include "sim/studies/network_check.hpp"
#include "sim/studies/value_check.hpp"
#include "sim/timing/bounds.hpp"
#include "sim/timing/measured_delays.hpp"

namespace sim {
namespace {

using proto::LinkSettings;
using proto::Refusal;

/// Collects what is compared and what differs.
class Comparison {
  public:
    Comparison(const Scenario& scenario, CrossCheck& result) : scenario_(scenario), result_(result) {}

    struct Values {
        std::string controller, device;
        std::string mend;  ///< empty: the controller's value at the device
    };
    /// One setting under the parameter signature.
    void agreed(const std::string& setting, const Values& values) {
        ++result_.compared;
        result_.settings.push_back({setting, values.controller, values.device,
                                    "The other end refuses the parameters: " + setting,
                                    "Start refused: " + setting + " differs"});
        if (values.controller == values.device) return;
        result_.differences.push_back({.setting = setting,
                                       .controller = values.controller,
                                       .device = values.device,
                                       .seen_at_controller = "The other end refuses the parameters: " + setting,
                                       .seen_at_device = "Start refused: " + setting + " differs, here " +
                                                         values.device + ", sent " + values.controller,
                                       .mend = values.mend.empty() ? at_device(values.controller) : values.mend});
    }

    [[nodiscard]] std::string at_device(const std::string& value) const {
        return scenario_.device.name + ": " + value + ", as at " + scenario_.controller.name;
    }
    [[nodiscard]] std::string at_controller(const std::string& value) const {
        return scenario_.controller.name + ": " + value + ", as at " + scenario_.device.name;
    }

  private:
    const Scenario& scenario_;
    CrossCheck& result_;
};

std::string bytes(unsigned count) { return std::to_string(count) + (count == 1 ? " byte" : " bytes"); }
std::string name_of(proto::Exchange exchange) { return exchange == proto::Exchange::polled ? "polled" : "streaming"; }
std::string name_of(proto::ByteOrder order) {
    return order == proto::ByteOrder::high_first ? "high byte first" : "low byte first";
}
std::string name_of(proto::Reaction reaction) {
    return reaction == proto::Reaction::trip ? "trip at once" : "discard, and stop at the second";
}

/// A profile's name, with its identity where two profiles of one name differ.
std::string profile_of(const TypedEnd& end, const TypedEnd& other) {
    const std::uint32_t identity = proto::identity_of(end.link.profile);
    const bool named_alike = end.link.profile.name == other.link.profile.name;
    if (!named_alike || identity == proto::identity_of(other.link.profile)) return end.link.profile.name;
    return end.link.profile.name + " (identity " + written_hex(identity, 8) + ")";
}

void compare_profile(const Scenario& s, Comparison& compare) {
    const bool alike = proto::identity_of(s.controller.link.profile) == proto::identity_of(s.device.link.profile);
    // Two files of one content are one profile, whatever their names.
    const std::string controller = profile_of(s.controller, s.device);
    compare.agreed("telegram profile", {controller, alike ? controller : profile_of(s.device, s.controller), ""});
}

void compare_addresses(const Scenario& s, Comparison& compare) {
    const LinkSettings& c = s.controller.link;
    const LinkSettings& d = s.device.link;
    const std::string controller = written_hex(c.own_address, 4), device = written_hex(d.own_address, 4);
    // An end knows its own address best.
    compare.agreed("address of " + s.controller.name,
                   {controller, written_hex(d.peer_address, 4), compare.at_device(controller)});
    compare.agreed("address of " + s.device.name,
                   {written_hex(c.peer_address, 4), device, compare.at_controller(device)});
}

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

/// Bits by meaning: which signal lands on which bit of the wire. `seen`: the parameters refuse it already.
void compare_bits(const Scenario& s, Direction direction, bool seen, CrossCheck& result) {
    const std::vector<WireBit> all = wire_bits(s, direction);
    result.compared += std::max<std::uint64_t>(all.size(), 1);  // without any bit: that there is none
    std::vector<WireBit> differing;
    for (const WireBit& bit : all) {
        const auto used = [](const std::string& signal) { return signal.empty() ? "not in use" : signal; };
        // two bits in use at both ends may change places unseen; one in use at one end only is refused
        result.settings.push_back({places_in_words({bit}) + ", " + toward(s, direction), used(bit.controller),
                                   used(bit.device), "Running", "Running"});
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
    d.mend =
        "see the wiring which end is right, then type the same at the other; demand each safeguard once and watch "
        "which signal falls";
    result.differences.push_back(std::move(d));
}

bool same_use(const Scenario& s, Direction direction) {
    const bool out = direction == Direction::to_device;
    const LinkSettings& c = s.controller.link;
    const LinkSettings& d = s.device.link;
    return (out ? c.bits_sent : c.bits_received) == (out ? d.bits_received : d.bits_sent);
}

void compare_watchdogs(const Scenario& s, Comparison& compare) {
    const LinkSettings& c = s.controller.link;
    const LinkSettings& d = s.device.link;
    const auto shorter = [&](Duration at_controller, Duration at_device) {
        // A longer watchdog lengthens the response: the shorter one is the safe choice.
        return at_controller < at_device ? compare.at_device(written(at_controller))
                                         : compare.at_controller(written(at_device));
    };
    const bool one_value = c.watchdog == c.peer_watchdog && d.watchdog == d.peer_watchdog;
    if (one_value) {
        compare.agreed("watchdog", {written(c.watchdog), written(d.watchdog), shorter(c.watchdog, d.watchdog)});
        return;
    }
    compare.agreed("watchdog of " + s.controller.name,
                   {written(c.watchdog), written(d.peer_watchdog), shorter(c.watchdog, d.peer_watchdog)});
    compare.agreed("watchdog of " + s.device.name,
                   {written(c.peer_watchdog), written(d.watchdog), shorter(c.peer_watchdog, d.watchdog)});
}

void compare_all(const Scenario& s, CrossCheck& result) {
    Comparison compare(s, result);
    const LinkSettings& c = s.controller.link;
    const LinkSettings& d = s.device.link;
    compare_roles(s, result);
    compare_profile(s, compare);
    compare_addresses(s, compare);
    mend_taken_addresses(s, result);
    compare.agreed("exchange", {name_of(c.exchange), name_of(d.exchange), ""});
    compare.agreed("payload " + toward(s, Direction::to_device),
                   {bytes(c.payload_sent), bytes(d.payload_received), ""});
    compare.agreed("payload " + toward(s, Direction::to_controller),
                   {bytes(c.payload_received), bytes(d.payload_sent), ""});
    std::array<bool, 2> bits_done{};
    const std::array ways{Direction::to_device, Direction::to_controller};
    for (std::size_t i = 0; i < ways.size(); ++i) {
        if (same_use(s, ways[i])) continue;
        compare_bits(s, ways[i], true, result);
        compare_values(s, ways[i], true, result);
        bits_done[i] = true;
    }
    compare.agreed("byte order", {name_of(c.byte_order), name_of(d.byte_order), ""});
    compare.agreed("cycle", {written(c.cycle), written(d.cycle), ""});
    if (c.cycle != d.cycle)
        result.differences.back().mend += "; if " + written(d.cycle) + " is the scan of " + s.device.name +
                                          " itself, its key is scan = \"" + written(d.cycle) + "\"";
    compare_watchdogs(s, compare);
    compare.agreed("missing telegrams allowed",
                   {std::to_string(c.missing_allowed), std::to_string(d.missing_allowed), ""});
    compare.agreed("claimed safety integrity level",
                   {std::to_string(c.claimed_level), std::to_string(d.claimed_level), ""});
    // A differing byte order moves bits too, and is refused itself: mending it mends them.
    const bool order_seen = c.byte_order != d.byte_order;
    for (std::size_t i = 0; i < ways.size(); ++i) {
        if (bits_done[i]) continue;
        if (order_seen) {
            result.compared += std::max<std::uint64_t>(wire_bits(s, ways[i]).size(), 1);
        } else {
            compare_bits(s, ways[i], false, result);
            compare_values(s, ways[i], false, result);
        }
    }
    const proto::LinkParameters parameters = proto::parameters_of(c);
    if (result.differences.empty() && proto::first_difference(parameters, proto::parameters_of(d)) == Refusal::none) {
        result.signature = proto::signature_of(parameters);
    }
}

void add_own_settings(const Scenario& s, CrossCheck& result) {
    const LinkSettings& c = s.controller.link;
    const LinkSettings& d = s.device.link;
    const auto note = [&](const std::string& setting, const std::string& at_controller, const std::string& at_device) {
        if (at_controller == at_device) return;
        result.cautions.push_back(setting + " is " + at_controller + " at " + s.controller.name + " and " + at_device +
                                  " at " + s.device.name + ": each end may have its own, but see that it is meant");
    };
    note("the reaction to a rejected telegram", name_of(c.reaction), name_of(d.reaction));
    if (c.reaction == proto::Reaction::discard && d.reaction == proto::Reaction::discard) {
        note("the error interval", written(c.error_interval), written(d.error_interval));
    }
    if (c.exchange == proto::Exchange::streaming && d.exchange == proto::Exchange::streaming) {
        const auto lag = [](const LinkSettings& link) {
            return link.max_lag ? std::to_string(*link.max_lag) : std::string("not set");
        };
        note("the longest lag of the fed-back number", lag(c), lag(d));
    }
    if (c.profile.time_stamp_bits != 0 && d.profile.time_stamp_bits != 0) {
        note("the longest age by time stamp", written(c.max_age), written(d.max_age));
        note("how far an age by time stamp may lie below 0", written(c.max_early), written(d.max_early));
    }
}

void add_round_trip(const Scenario& s, CrossCheck& result) {
    const LinkSettings& c = s.controller.link;
    if (c.exchange != proto::Exchange::polled) return;
    const Duration watchdog = std::min(c.watchdog, s.device.link.watchdog);
    const Duration runs = longest_round_trip(watchdog, c.cycle);
    const Duration longest = longest_of(s.to_device.delay) + longest_of(s.to_controller.delay) + s.device.link.scan;
    const Duration shortest = shortest_of(s.to_device.delay) + shortest_of(s.to_controller.delay);
    const std::string limit = "a round trip of up to " + written(runs) + " runs wherever the scans fall (watchdog " +
                              written(watchdog) + " less the cycle of " + written(c.cycle) + ")";
    const Duration never = c.cycle * (watchdog.ns / c.cycle.ns);  // so many cycles, and the next scan is too late
    if (shortest > never) {
        result.problems.push_back(limit + ", one of over " + written(never) + " never, and this channel takes " +
                                  written(shortest) + " at best: the link cannot run; write a longer watchdog");
    } else if (longest > runs) {
        result.cautions.push_back(limit + ", and this channel with a device scan takes up to " + written(longest) +
                                  ": expect stops for nothing");
    } else {
        result.cautions.push_back(limit + "; this channel with a device scan takes up to " + written(longest));
    }
}

void add_undetectable(const Scenario& s, CrossCheck& result) {
    const auto add = [&result](std::vector<Undetectable> found) {
        for (Undetectable& each : found) result.undetectable.push_back(std::move(each.words));
    };
    LinkSettings settings = s.controller.link;
    settings.watchdog = s.device.link.watchdog;
    add(undetectable_with(settings));
    add(undetectable_by_any());
}

/// Most often both ways are of one capture, and then it is said once.
void add_captured(const Scenario& s, CrossCheck& result) {
    const auto out = about_captured(s.to_device.delay), back = about_captured(s.to_controller.delay);
    const auto add = [&result](const std::string& way, const std::vector<std::string>& clauses) {
        for (const std::string& clause : clauses)
            result.cautions.push_back(std::string("the delays ").append(way).append(" ").append(clause));
    };
    const auto& of_out = s.to_device.delay.of_round_trips;
    const auto& of_back = s.to_controller.delay.of_round_trips;
    const bool same_exchanges = of_out && of_back && of_out->source == of_back->source;
    if (out == back || same_exchanges) return add("of both ways", out.empty() ? back : out);
    add(toward(s, Direction::to_device), out);
    add(toward(s, Direction::to_controller), back);
}

/// What a channel's settings do not promise, and what a clock's offset needs.
void add_channel(const Scenario& s, CrossCheck& result) {
    add_captured(s, result);
    for (const auto& [way, channel] : {std::pair{toward(s, Direction::to_device), &s.to_device},
                                       {toward(s, Direction::to_controller), &s.to_controller}}) {
        if (!channel->delay.preset.empty()) {
            result.cautions.push_back("the delay " + way + " is the preset " + channel->delay.preset +
                                      ", which is illustrative: measure your own network");
        }
        if (channel->delay.fitted)
            result.cautions.push_back("of the measured delay " + way + ", " + clause_about(*channel->delay.fitted));
        if (channel->queue) {
            result.cautions.push_back("the wait behind other traffic " + way + ", up to " +
                                      written(channel->queue->room) +
                                      ", is not part of the declared delay that bounds "
                                      "are computed with");
        }
    }
    for (const TypedEnd* end : {&s.controller, &s.device}) {
        const LinkSettings& link = end->link;
        if (link.profile.time_stamp_bits == 0 || link.profile.time_stamp_kind != proto::StampKind::clock) continue;
        const Duration round_trip = longest_of(s.to_device.delay) + longest_of(s.to_controller.delay) +
                                    s.controller.link.scan + s.device.link.scan;
        if (round_trip <= link.max_age) continue;
        result.cautions.push_back("max_age at " + end->name + " is " + written(link.max_age) +
                                  ", and the round trip that sets its clock takes up to " + written(round_trip) +
                                  ": a start that takes longer than max_age is begun again");
    }
}

void add_limits(const Scenario& s, CrossCheck& result) {
    for (const Safeguard& safeguard : s.safeguards) {
        const Duration least = least_hold(s, safeguard.at);
        if (s.segment != 0) break;  // in a cell the whole way counts
        if (safeguard.minimum_hold >= least || safeguard.minimum_hold == Duration{}) continue;
        result.cautions.push_back("a demand of " + safeguard.name + " is held for " + written(safeguard.minimum_hold) +
                                  " only; under " + written(least) +
                                  " it may fall between two exchanges and vanish without any fault");
    }
    const proto::Profile& profile = s.controller.link.profile;
    unsigned implied = 0;
    if (profile.address.presence == proto::Presence::implied) implied += 2 * profile.address.bits;
    if (profile.sequence.presence == proto::Presence::implied) implied += profile.sequence.bits;
    if (profile.crc && implied > profile.crc->width) {
        result.cautions.push_back(std::to_string(implied) + " bits are implied, but the CRC has only " +
                                  std::to_string(profile.crc->width) +
                                  ": some other addresses or numbers give the same CRC always; the addresses of this "
                                  "scenario were compared, others were not");
    }
}

}  // namespace

CrossCheck cross_check(const Scenario& scenario) {
    CrossCheck result;
    compare_all(scenario, result);
    compare_network(scenario, result);
    compare_module_fields(scenario, result);
    add_undetectable(scenario, result);
    add_value_cautions(scenario, result);
    add_round_trip(scenario, result);
    add_link_limits(scenario, result);
    add_own_settings(scenario, result);
    add_channel(scenario, result);
    add_limits(scenario, result);
    add_demands(scenario, result);
    return result;
}

}  // namespace sim
