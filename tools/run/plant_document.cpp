#include "tools/run/plant_document.hpp"

#include <algorithm>

#include "proto/parameters.hpp"
#include "sim/plant/application.hpp"
#include "sim/scenario/network.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/timing/bounds.hpp"
#include "sim/timing/minimum_distance.hpp"
#include "tools/plant/drawn_plant.hpp"
#include "tools/run/describe_values.hpp"
#include "tools/text/addresses.hpp"
#include "tools/text/apart.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using proto::LinkSettings;
using sim::End;
using sim::written;
using sim::written_hex;

std::string_view name_of_end(End end) { return end == End::controller ? "controller" : "device"; }

Value::List settings_of(const sim::CrossCheck& check) {
    Value::List list;
    for (const sim::ComparedSetting& s : check.settings) {
        std::string mend, seen_c = s.seen_at_controller, seen_d = s.seen_at_device;
        for (const sim::Difference& d : check.differences)
            if (d.setting == s.setting) {
                mend = d.mend;
                seen_c = d.seen_at_controller;
                seen_d = d.seen_at_device;
            }
        Value::Object one{{"setting", s.setting},
                          {"controller", in_hex_alone(s.controller_addresses, s.controller)},
                          {"device", in_hex_alone(s.device_addresses, s.device)},
                          {"same", s.same()},
                          {"seen_at_controller", Value::text_or_null(seen_c)},
                          {"seen_at_device", Value::text_or_null(seen_d)},
                          {"mend", Value::text_or_null(mend)}};
        if (!s.controller_addresses.empty())
            one.push_back({"addresses", Value::Object{{"controller", describe(s.controller_addresses)},
                                                      {"device", describe(s.device_addresses)}}});
        list.push_back(std::move(one));
    }
    return list;
}

std::string reaction_of(const LinkSettings& link) {
    if (link.reaction == proto::Reaction::trip) return "trip at once";
    return "discard, and stop at the second within " + written(link.error_interval);
}

Value::List typed_of(const sim::Scenario& s, const std::optional<sim::Duration>& controller_scan) {
    const LinkSettings &c = s.controller.link, &d = s.device.link;
    const auto bytes = [](unsigned count) { return counted(count, "byte", "bytes"); };
    const auto exchange = [](const LinkSettings& l) {
        return std::string(l.exchange == proto::Exchange::polled ? "polled" : "streaming");
    };
    const auto order = [](const LinkSettings& l) {
        return std::string(l.byte_order == proto::ByteOrder::high_first ? "high byte first" : "low byte first");
    };
    Value::List list;
    const auto equal = [&](const std::string& what, const std::string& controller, const std::string& device) {
        list.push_back(
            Value::Object{{"what", what}, {"controller", controller}, {"device", device}, {"must_be_equal", true}});
    };
    const auto own = [&](const std::string& what, const std::string& controller, const std::string& device) {
        list.push_back(
            Value::Object{{"what", what}, {"controller", controller}, {"device", device}, {"must_be_equal", false}});
    };
    // whoever types one does so in the base of that maker's tool
    const auto address = [](const sim::TypedAddress& typed, const char* whose) {
        return in_both_bases(typed) + ", " + whose;
    };
    equal("address of " + s.controller.name, address(s.controller.own_address(), "own"),
          address(s.device.peer_address(), "other end"));
    equal("address of " + s.device.name, address(s.controller.peer_address(), "other end"),
          address(s.device.own_address(), "own"));
    equal("exchange", exchange(c), exchange(d));
    equal("payload to " + s.device.name, bytes(c.payload_sent), bytes(d.payload_received));
    equal("payload to " + s.controller.name, bytes(c.payload_received), bytes(d.payload_sent));
    equal("byte order", order(c), order(d));
    equal("cycle", written(c.cycle), written(d.cycle));
    equal("watchdog of " + s.controller.name, written(c.watchdog), written(d.peer_watchdog));
    equal("watchdog of " + s.device.name, written(c.peer_watchdog), written(d.watchdog));
    equal("missing telegrams allowed", std::to_string(c.missing_allowed), std::to_string(d.missing_allowed));
    equal("claimed safety integrity level", std::to_string(c.claimed_level), std::to_string(d.claimed_level));
    own("scan of the end", written(controller_scan.value_or(c.scan)), written(d.scan));
    own("reaction to a rejected telegram", reaction_of(c), reaction_of(d));
    if (c.max_lag || d.max_lag) {
        const auto lag = [](const LinkSettings& l) {
            return l.max_lag ? std::to_string(*l.max_lag) : std::string("not set");
        };
        own("longest lag of the number fed back", lag(c), lag(d));
    }
    if (c.profile.time_stamp_bits != 0) own("longest age by time stamp", written(c.max_age), written(d.max_age));
    return list;
}

/// What is typed at the ends besides the link, blank where it is not; nothing where there is none of it.
Value::List around_of(const sim::Scenario& s) {
    Value::List list;
    if (!s.controller.around && !s.device.around) return list;
    for (const sim::AroundSetting& setting : sim::around_settings()) {
        const auto at = [&](const sim::TypedEnd& end) { return end.around ? setting.value(*end.around) : ""; };
        const std::string controller = at(s.controller), device = at(s.device);
        list.push_back(Value::Object{{"setting", setting.key},
                                     {"what", setting.words},
                                     {"controller", Value::text_or_null(controller)},
                                     {"device", Value::text_or_null(device)}});
    }
    return list;
}

std::string place_at(const sim::TypedEnd& end, const std::string& signal) {
    for (const sim::TypedBit& bit : end.bits)
        if (bit.signal == signal) return std::to_string(bit.place.byte) + "." + std::to_string(bit.place.bit);
    return "not in use";
}

std::string joined(const std::vector<std::string>& names, std::string_view between) {
    std::string out;
    for (const std::string& name : names) out += (out.empty() ? "" : std::string(between)) + name;
    return out;
}

/// A machine's name may be one or many: "rollers", "press".
std::string stop_in_words(const sim::Machine& machine, sim::StopCategory stop) {
    switch (stop) {
        case sim::StopCategory::category_0: return machine.name + ": stop, category 0";
        case sim::StopCategory::category_1: return machine.name + ": stop, category 1";
        case sim::StopCategory::category_2: return machine.name + ": stop, category 2";
        case sim::StopCategory::reduced_speed:
            return machine.name + ": down to at most " + written(sim::micrometres(machine.reduced_speed_um_s)) + "/s";
    }
    return "?";
}

/// Of what it is made; and when it is 1 all the same.
std::string meaning_of_1(const sim::Scenario& s, const sim::Signal& signal) {
    std::vector<std::string> parts;
    if (!signal.inverse_of.empty()) return signal.inverse_of + " is 0: the second bit of its pair";
    if (!signal.all_of.empty()) parts.push_back("no demand from " + joined(signal.all_of, " and "));
    if (!signal.any_of.empty()) parts.push_back("no demand from one of " + joined(signal.any_of, ", "));
    if (!signal.in_mode.empty()) parts.push_back("or another mode than " + joined(signal.in_mode, ", "));
    if (signal.muted_by) parts.push_back("or muted by " + signal.muted_by->first + " and " + signal.muted_by->second);
    if (const sim::Signal* second = sim::second_of(s.signals, signal.name))
        parts.push_back("counts only while " + second->name + " is 0");
    return joined(parts, "; ");
}

/// What follows where the signal is used, when it is 0.
std::string reaction_at_0(const sim::Scenario& s, const sim::Signal& signal) {
    std::vector<std::string> reactions;
    if (!signal.inverse_of.empty())
        return "by itself none; with " + signal.inverse_of +
               " at 0 too, or both at 1, that one counts as 0, and after " + written(signal.discrepancy) +
               " until a reset; not while the link stands still";
    if (s.machine)
        for (const sim::MachineReaction& r : s.machine->reactions)
            if (r.signal == signal.name) reactions.push_back(stop_in_words(*s.machine, r.stop));
    for (const sim::Signal& other : s.signals)
        if (sim::is_made_of(other, signal.name)) reactions.push_back(other.name + " falls to 0");
    return reactions.empty() ? "none stated" : joined(reactions, "; ");
}

Value::List bits_of(const sim::Scenario& s) {
    Value::List list;
    for (const sim::Signal& signal : s.signals) {
        if (signal.elsewhere) continue;  // on another link of the cell
        Value::Object bit{{"signal", signal.name},
                          {"direction", name_of_way(signal.direction)},
                          {"at_controller", place_at(s.controller, signal.name)},
                          {"at_device", place_at(s.device, signal.name)},
                          {"meaning_of_1", meaning_of_1(s, signal)},
                          {"substitute", 0},
                          {"reaction_at_0", reaction_at_0(s, signal)}};
        if (!signal.inverse_of.empty()) {
            bit.push_back({"inverse_of", signal.inverse_of});
            bit.push_back({"discrepancy_ms", signal.discrepancy});
        }
        list.push_back(std::move(bit));
    }
    return list;
}

Value::List safeguards_of(const sim::Scenario& s, const std::vector<std::string>& stations) {
    Value::List list;
    for (std::size_t i = 0; i < s.safeguards.size(); ++i) {
        const sim::Safeguard& guard = s.safeguards[i];
        const std::uint64_t falls = sim::signals_depending_on(s, i);
        Value::List signals;
        for (std::size_t k = 0; k < s.signals.size(); ++k)
            if ((falls >> k & 1) != 0) signals.emplace_back(s.signals[k].name);
        Value::Object one{{"name", guard.name},
                          {"at", name_of_end(guard.at)},
                          {"delay_ms", guard.delay},
                          {"latched", guard.latched},
                          {"signals_that_fall", std::move(signals)}};
        if (i < stations.size()) one.push_back({"station", stations[i]});
        list.emplace_back(std::move(one));
    }
    return list;
}

unsigned telegram_bytes(const LinkSettings& sender) {
    const auto layout = proto::layout_of(sender.profile, sender.payload_sent);
    return layout ? layout.value().total_bytes : 0;
}

Value network_of(const sim::Scenario& s) {
    const LinkSettings& c = s.controller.link;
    const bool polled = c.exchange == proto::Exchange::polled;
    const sim::Duration watchdog = std::min(c.watchdog, s.device.link.watchdog);
    const sim::Duration there = longest_of(s.to_device.delay), back = longest_of(s.to_controller.delay);
    const unsigned out = telegram_bytes(c), in = telegram_bytes(s.device.link);
    const double per_second = 1e9 / static_cast<double>(c.cycle.ns);
    return Value::Object{
        {"telegram_to_device_bytes", out},
        {"telegram_to_controller_bytes", in},
        {"telegrams_per_second_each_way", per_second},
        {"longest_delay_to_device_ms", there},
        {"longest_delay_to_controller_ms", back},
        {"longest_round_trip_ms", polled ? Value(sim::longest_round_trip(watchdog, c.cycle)) : Value()},
        {"delay_measured", s.to_device.delay.was_measured() && s.to_controller.delay.was_measured()},
        {"loss_to_device", s.to_device.loss},
        {"loss_to_controller", s.to_controller.loss}};
}

/// Who reads it: in a cell perhaps a station of another link.
std::string reader_of(const sim::Scenario& s, std::size_t safeguard, const std::vector<std::string>& stations) {
    return safeguard < stations.size() ? stations[safeguard] : s.end(s.safeguards[safeguard].at).name;
}

Value::List plant_lines(const sim::Scenario& s, const std::vector<std::string>& stations) {
    const EndNames names = full_names(s);
    const LinkSettings& c = s.controller.link;
    Value::List lines;
    lines.emplace_back(
        names.controller + " and " + names.device + ", " +
        (c.exchange == proto::Exchange::polled ? "polled" : "streaming") + ", cycle " + written(c.cycle) +
        ", watchdog " + written(c.watchdog) +
        (c.watchdog == s.device.link.watchdog ? " at both ends" : " and " + written(s.device.link.watchdog)));
    lines.emplace_back("Telegram: " + c.profile.name + ", " +
                       (c.profile.crc ? std::to_string(c.profile.crc->width) + "-bit CRC" : std::string("no CRC")) +
                       ", " + counted(telegram_bytes(c), "byte", "bytes") + " out and " +
                       counted(telegram_bytes(s.device.link), "byte", "bytes") + " back");
    std::vector<std::string> guards;
    for (std::size_t i = 0; i < s.safeguards.size(); ++i)
        guards.push_back(s.safeguards[i].name + " at " + reader_of(s, i, stations));
    lines.emplace_back("Safeguards: " + (guards.empty() ? "none" : joined(guards, ", ")));
    lines.emplace_back(s.machine ? "Machine: " + s.machine->name + ", drive at " + s.end(s.machine->at).name
                                 : std::string(s.cell_link.empty() ? "Machine: none; the outputs count"
                                                                   : "Machine: none at this link"));
    lines.emplace_back(
        "A rejected telegram: " + reaction_of(c) +
        (c.reaction == s.device.link.reaction ? "" : "; at the other end: " + reaction_of(s.device.link)));
    return lines;
}

}  // namespace

Value describe_plant(const sim::Scenario& s, std::uint64_t seed, const PlantFound& found) {
    const sim::CrossCheck& check = found.check;
    const EndNames names = full_names(s), shorter = short_names(s);
    const auto layout = proto::layout_of(s.controller.link.profile, s.controller.link.payload_sent);
    const unsigned protected_bits = layout ? 8 * (layout.value().header_bytes + layout.value().payload_bytes) : 0;
    Value::Object document{
        {"scenario", s.file},
        {"title", s.title},
        {"shows", s.shows},
        {"plant", s.plant},
        {"seed", seed},
        {"ends", Value::Object{{"controller", names.controller}, {"device", names.device}}},
        {"short_names", Value::Object{{"controller", shorter.controller}, {"device", shorter.device}}},
        {"lines", plant_lines(s, found.stations)},
        {"exchange", s.controller.link.exchange == proto::Exchange::polled ? "polled" : "streaming"},
        {"compared", check.compared},
        {"signature", check.signature ? Value(written_hex(*check.signature, 8)) : Value()},
        {"settings", settings_of(check)},
        {"typed", typed_of(s, found.controller_scan)},
        {"bits", bits_of(s)},
        {"safeguards", safeguards_of(s, found.stations)},
        {"machine",
         s.machine ? Value(Value::Object{{"name", s.machine->name}, {"at", name_of_end(s.machine->at)}}) : Value()},
        {"network", network_of(s)},
        {"profile", Value::Object{{"name", s.controller.link.profile.name},
                                  {"identity", written_hex(proto::identity_of(s.controller.link.profile), 8)},
                                  {"protected_bits", protected_bits}}},
        {"watchdog_ms", Value::Object{{"controller", s.controller.link.watchdog}, {"device", s.device.link.watchdog}}},
        {"longest_watchdog_ms", Value::of(found.longest.longest())},
        {"problems", Value::list_of(check.problems)},
        {"undetectable", Value::list_of(check.undetectable)},
        {"cautions", Value::list_of(check.cautions)},
    };
    if (Value::List around = around_of(s); !around.empty()) document.push_back({"around", std::move(around)});
    if (found.functions)
        document.push_back({"drawing", drawn_plant({.links = {{"", &s, &check}},
                                                    .guard_stations = stations_of_guards(s),
                                                    .functions = &*found.functions})});
    if (check.apart) document.push_back({"kept_apart", describe(*check.apart)});
    if (s.values.any()) document.push_back({"values", describe_value_map(s)});
    return document;
}

}  // namespace tools
