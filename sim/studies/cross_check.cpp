#include "sim/studies/cross_check.hpp"

#include <algorithm>
#include <array>

#include "proto/parameters.hpp"
#include "sim/measures/by_design.hpp"
#include "sim/scenario/fitted_tail_words.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/studies/bit_check.hpp"
#include "sim/studies/demand_times.hpp"
#include "sim/studies/exchanged_ends.hpp"
#include "sim/studies/link_limits.hpp"
#include "sim/studies/mend.hpp"
#include "sim/studies/network_check.hpp"
#include "sim/studies/running_check.hpp"
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

    /// One setting under the parameter signature.
    void agreed(const std::string& setting, TypedValues typed, MeantValue meant) {
        ++result_.compared;
        ComparedSetting compared{typed};
        compared.setting = setting;
        compared.seen_at_controller = "The other end refuses the parameters: " + setting;
        compared.seen_at_device = "Start refused: " + setting + " differs";
        compared.meant = meant.value;
        compared.meant_address = meant.address;
        if (!compared.same()) {
            Difference differs{typed};
            differs.setting = setting;
            differs.seen_at_controller = compared.seen_at_controller;
            differs.seen_at_device = compared.seen_at_device + ", here " + typed.device + ", sent " + typed.controller;
            Mend mend = mend_by(scenario_, typed, meant);
            differs.mend = std::move(mend.words);
            differs.mend_at = mend.at;
            if (!typed.controller_addresses.empty())
                differs.note = digits_that_agree(typed.controller_addresses.front(), typed.device_addresses.front());
            result_.differences.push_back(std::move(differs));
        }
        result_.settings.push_back(std::move(compared));
    }

    /// The same of what [link] may say of both ends.
    template <class T, class InWords>
    void agreed(const std::string& setting, const T& controller, const T& device, const std::optional<T>& meant,
                InWords in_words) {
        MeantValue by_link;
        if (meant) {
            by_link.value = in_words(*meant);
            by_link.says = who_says(scenario_, "link");
        }
        TypedValues typed;
        typed.controller = in_words(controller);
        typed.device = in_words(device);
        agreed(setting, std::move(typed), std::move(by_link));
    }

    void address_of(const TypedEnd& end, const TypedAddress& at_controller, const TypedAddress& at_device,
                    const std::optional<TypedAddress>& meant) {
        TypedValues typed{in_both_bases(at_controller), in_both_bases(at_device), {at_controller}, {at_device}};
        MeantValue by_file;
        if (meant) by_file = {in_both_bases(*meant), meant, who_says(scenario_, "link"), ""};
        agreed("address of " + end.name, std::move(typed), std::move(by_file));
    }

    void time(const std::string& setting, Duration controller, Duration device,
              std::initializer_list<std::optional<Duration> Meant::*> which) {
        TypedValues typed;
        typed.controller = written(controller);
        typed.device = written(device);
        MeantValue by_link;
        if (controller != device)
            by_link = meant_time(scenario_, which, {controller, device});
        else if (const std::optional<Duration>& meant = scenario_.meant.**which.begin())
            by_link.value = written(*meant);
        agreed(setting, std::move(typed), std::move(by_link));
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
    TypedValues typed;
    typed.controller = profile_of(s.controller, s.device);
    // Two files of one content are one profile, whatever their names.
    typed.device = alike ? typed.controller : profile_of(s.device, s.controller);
    MeantValue meant;
    if (s.meant.profile) {
        // a file may be named by its path, and is called by its name
        const bool here = *s.meant.profile == s.controller.profile_file,
                   there = *s.meant.profile == s.device.profile_file;
        meant.value = here ? typed.controller : there ? typed.device : *s.meant.profile;
        meant.says = who_says(s, "link");
    }
    compare.agreed("telegram profile", std::move(typed), std::move(meant));
}

void compare_addresses(const Scenario& s, Comparison& compare) {
    compare.address_of(s.controller, s.controller.own_address(), s.device.peer_address(), s.meant.controller_address);
    compare.address_of(s.device, s.controller.peer_address(), s.device.own_address(), s.meant.device_address);
}

/// "to press I/O".
std::string toward(const Scenario& s, Direction direction) { return "to " + s.end(receiver(direction)).name; }

bool same_use(const Scenario& s, Direction direction) {
    const bool out = direction == Direction::to_device;
    const LinkSettings& c = s.controller.link;
    const LinkSettings& d = s.device.link;
    return (out ? c.bits_sent : c.bits_received) == (out ? d.bits_received : d.bits_sent);
}

void compare_watchdogs(const Scenario& s, Comparison& compare) {
    const LinkSettings& c = s.controller.link;
    const LinkSettings& d = s.device.link;
    const bool one_value = c.watchdog == c.peer_watchdog && d.watchdog == d.peer_watchdog &&
                           s.meant.controller_watchdog == s.meant.device_watchdog;
    if (one_value)
        return compare.time("watchdog", c.watchdog, d.watchdog, {&Meant::controller_watchdog, &Meant::device_watchdog});
    compare.time("watchdog of " + s.controller.name, c.watchdog, d.peer_watchdog, {&Meant::controller_watchdog});
    compare.time("watchdog of " + s.device.name, c.peer_watchdog, d.watchdog, {&Meant::device_watchdog});
}

void compare_all(const Scenario& s, CrossCheck& result) {
    Comparison compare(s, result);
    const LinkSettings& c = s.controller.link;
    const LinkSettings& d = s.device.link;
    compare_roles(s, result);
    compare_profile(s, compare);
    compare_addresses(s, compare);
    mend_taken_addresses(s, result);
    const auto exchange = [](proto::Exchange one) { return name_of(one); };
    const auto order = [](proto::ByteOrder one) { return name_of(one); };
    const auto number = [](unsigned count) { return std::to_string(count); };
    compare.agreed("exchange", c.exchange, d.exchange, s.meant.exchange, exchange);
    compare.agreed("payload " + toward(s, Direction::to_device), c.payload_sent, d.payload_received,
                   s.meant.payload_to_device, bytes);
    compare.agreed("payload " + toward(s, Direction::to_controller), c.payload_received, d.payload_sent,
                   s.meant.payload_to_controller, bytes);
    std::array<bool, 2> bits_done{};
    const std::array ways{Direction::to_device, Direction::to_controller};
    for (std::size_t i = 0; i < ways.size(); ++i) {
        if (same_use(s, ways[i])) continue;
        compare_bits(s, ways[i], true, result);
        compare_values(s, ways[i], true, result);
        bits_done[i] = true;
    }
    compare.agreed("byte order", c.byte_order, d.byte_order, s.meant.byte_order, order);
    compare.time("cycle", c.cycle, d.cycle, {&Meant::cycle});
    if (c.cycle != d.cycle)
        result.differences.back().mend += "; if " + written(d.cycle) + " is the scan of " + s.device.name +
                                          " itself, its key is scan = \"" + written(d.cycle) + "\"";
    compare_watchdogs(s, compare);
    compare.agreed("missing telegrams allowed", c.missing_allowed, d.missing_allowed, s.meant.missing_allowed, number);
    TypedValues levels;
    levels.controller = number(c.claimed_level);
    levels.device = number(d.claimed_level);
    compare.agreed("claimed safety integrity level", std::move(levels), meant_level(s));
    // A differing byte order moves bits too, and is refused itself: mending it mends them.
    const bool order_seen = c.byte_order != d.byte_order;
    for (std::size_t i = 0; i < ways.size(); ++i) {
        if (bits_done[i]) continue;
        if (order_seen) {
            result.compared += bits_compared(s, ways[i]);
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

/// Two lists may agree with each other on what the file, which says what was meant, has otherwise.
void add_not_as_meant(const Scenario& s, CrossCheck& result) {
    if (s.meant.file.empty()) return;
    for (const ComparedSetting& setting : result.settings) {
        if (!setting.same() || !setting.meant) continue;
        const bool as_meant = setting.meant_address && !setting.controller_addresses.empty()
                                  ? setting.controller_addresses.front().value == setting.meant_address->value
                                  : setting.controller == *setting.meant;
        if (!as_meant)
            result.problems.push_back(setting.setting + ": both lists have " + setting.controller + ", and " +
                                      s.meant.file + " means " + *setting.meant + "; see the design which is right");
    }
}

}  // namespace

CrossCheck cross_check(const Scenario& scenario) {
    CrossCheck result;
    compare_all(scenario, result);
    compare_network(scenario, result);
    compare_module_fields(scenario, result);
    add_not_as_meant(scenario, result);
    add_undetectable(scenario, result);
    add_value_cautions(scenario, result);
    add_running(scenario, result);
    add_link_limits(scenario, result);
    add_own_settings(scenario, result);
    add_channel(scenario, result);
    add_limits(scenario, result);
    add_demands(scenario, result);
    return result;
}

}  // namespace sim
