#include "tools/text/words.hpp"

#include <algorithm>
#include <cstdlib>

#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "tools/text/text.hpp"
#include "tools/text/value.hpp"

namespace tools {

using sim::FaultWay;

std::string_view word_for(proto::Measure measure) {
    switch (measure) {
        case proto::Measure::cross_check: return "second copy";
        case proto::Measure::integrity: return "CRC";
        case proto::Measure::authentication: return "address";
        case proto::Measure::sequence: return "number";
        case proto::Measure::feedback: return "number fed back";
        case proto::Measure::time_stamp: return "time stamp";
        case proto::Measure::time_expectation: return "watchdog";
        case proto::Measure::different_integrity: return "other kind of CRC";
    }
    return "?";
}

std::string_view word_for(sim::Outcome outcome) {
    switch (outcome) {
        case sim::Outcome::safe_state: return "stopped";
        case sim::Outcome::tolerated: return "tolerated";
        case sim::Outcome::no_effect: return "no effect";
        case sim::Outcome::dangerous: return "DANGEROUS";
        case sim::Outcome::not_fired: return "not fired";
        case sim::Outcome::never_ran: return "never ran";
    }
    return "?";
}

std::string_view word_for(proto::State state) {
    switch (state) {
        case proto::State::start_up: return "starting";
        case proto::State::running: return "running";
        case proto::State::safe_state: return "stopped";
        case proto::State::awaiting_acknowledgement: return "waits for an acknowledgement";
    }
    return "?";
}

std::string refused_setting(proto::Refusal refusal, const EndNames& full) {
    switch (refusal) {
        case proto::Refusal::controller_address: return "address of " + full.controller;
        case proto::Refusal::device_address: return "address of " + full.device;
        case proto::Refusal::payload_to_device: return "payload to " + full.device;
        case proto::Refusal::payload_to_controller: return "payload to " + full.controller;
        case proto::Refusal::bits_to_device: return "bits used to " + full.device;
        case proto::Refusal::bits_to_controller: return "bits used to " + full.controller;
        case proto::Refusal::watchdog_controller: return "watchdog of " + full.controller;
        case proto::Refusal::watchdog_device: return "watchdog of " + full.device;
        case proto::Refusal::claimed_level: return "claimed safety integrity level";
        case proto::Refusal::none:
        case proto::Refusal::profile:
        case proto::Refusal::exchange:
        case proto::Refusal::byte_order:
        case proto::Refusal::cycle:
        case proto::Refusal::missing_allowed: return std::string(name_of(refusal));
    }
    return "?";
}

std::string_view with_name(const std::string& name, std::string_view one, std::string_view many) {
    return name.ends_with('s') && !name.ends_with("ss") ? many : one;
}

std::string as_sentence(std::string text) {
    if (text.empty()) return text;
    if (text.front() >= 'a' && text.front() <= 'z') text.front() = static_cast<char>(text.front() - 'a' + 'A');
    if (text.back() != '.' && text.back() != '!' && text.back() != '?') text += '.';
    return text;
}

std::string speed_in_words(std::int64_t um_s) {
    return scalar_text(Value(static_cast<double>(um_s) / 1000.0)) + " mm/s";
}

EndNames full_names(const sim::Scenario& scenario) {
    const auto or_else = [](const std::string& name, const char* otherwise) { return name.empty() ? otherwise : name; };
    return {or_else(scenario.controller.name, "controller"), or_else(scenario.device.name, "device")};
}

EndNames short_names(const sim::Scenario& scenario) {
    EndNames names = full_names(scenario);
    for (;;) {
        const std::size_t a = names.controller.find(' ');
        const std::size_t b = names.device.find(' ');
        const bool same_word = a != std::string::npos && a == b &&
                               names.controller.compare(0, a, names.device, 0, b) == 0 &&
                               a + 1 < names.controller.size() && b + 1 < names.device.size();
        if (!same_word) return names;
        names.controller.erase(0, a + 1);
        names.device.erase(0, b + 1);
    }
}

namespace {

std::string_view place_in_telegram(sim::TelegramField field) {
    switch (field) {
        case sim::TelegramField::whole: return "";
        case sim::TelegramField::status: return " in the status";
        case sim::TelegramField::address: return " in the address";
        case sim::TelegramField::sequence: return " in the number";
        case sim::TelegramField::payload: return " in the payload";
        case sim::TelegramField::crc: return " in the CRC";
    }
    return "";
}

/// What is done to a telegram, without the error's name.
std::string deed_of(const sim::Fault& fault, const sim::Scenario& scenario) {
    const std::string where(place_in_telegram(fault.field));
    switch (fault.way) {
        case FaultWay::flip_bits: return counted(fault.bits.size(), "named bit", "named bits") + where;
        case FaultWay::random_bits: return counted(fault.count, "bit", "bits") + where;
        case FaultWay::burst: return "burst of " + counted(fault.length, "bit", "bits") + where;
        case FaultWay::bit_rate: return "each bit at " + scalar_text(Value(fault.rate)) + where;
        case FaultWay::truncate: return counted(fault.count, "byte", "bytes") + " cut off";
        case FaultWay::beside: return std::to_string(fault.back) + " back, beside new";
        case FaultWay::instead: return std::to_string(fault.back) + " back, in place of new";
        case FaultWay::current_again: return "the same twice";
        case FaultWay::old_parameters: return "start telegram of an earlier start";
        case FaultWay::hold: return "held " + sim::written(fault.hold);
        case FaultWay::drop:
            return fault.lasting || (fault.when.until && !fault.times)
                       ? "all"
                       : counted(fault.times.value_or(1), "telegram", "telegrams");
        case FaultWay::step: return "+" + sim::written(fault.extra);
        case FaultWay::creeping: return "+" + sim::written(fault.extra) + " in every second";
        case FaultWay::neighbour:
            if (!fault.other_link.empty()) return "from link " + fault.other_link;
            return "from " + (scenario.neighbour ? scenario.neighbour->name : std::string("next link"));
        case FaultWay::stray: return "of an earlier start";
        case FaultWay::no_crc: return "no safety CRC";
        case FaultWay::other_crc: return "another kind of CRC";
        case FaultWay::all_zero: return "all bytes 0";
        case FaultWay::swap:
            return fault.other_link.empty() ? "swapped with next" : "swapped with link " + fault.other_link;
        case FaultWay::misdeliver:
            if (fault.other_link.empty()) return "to the next link";
            return (fault.of_other_link ? "those of link " : "to link ") + fault.other_link;
        case FaultWay::loop_back: return "looped back";
        case FaultWay::restart: return "power off";
        case FaultWay::stall: return "does not scan";
        case FaultWay::frozen_data: return "takes in no new values";
        case FaultWay::drive_does_not_slow: return "drive does not slow down";
        case FaultWay::clock_drift:
            return "clock " + grouped(static_cast<std::uint64_t>(std::abs(fault.drift_ppm))) + " ppm " +
                   (fault.drift_ppm > 0 ? "fast" : "slow");
    }
    return "?";
}

std::string words_of(const sim::FaultCondition& when) {
    using Condition = sim::FaultCondition;
    std::string out;
    if (when.state) {
        out += when.state_of == sim::End::controller ? " while C " : " while D ";
        switch (*when.state) {
            case proto::State::start_up: out += "starts"; break;
            case proto::State::running: out += "runs"; break;
            case proto::State::safe_state: out += "is stopped"; break;
            case proto::State::awaiting_acknowledgement: out += "awaits acknowledgement"; break;
        }
    }
    if (when.machine)
        out += *when.machine == Condition::Motion::moving ? " while the machine moves" : " while the machine stands";
    if (when.position)
        out += " at " + scalar_text(Value(static_cast<double>(when.position->from_um) / 1000)) + " to " +
               scalar_text(Value(static_cast<double>(when.position->to_um) / 1000)) + " mm";
    if (when.until) switch (*when.until) {
            case Condition::Event::safe_state: out += " until the safe state"; break;
            case Condition::Event::acknowledged: out += " until acknowledged"; break;
            case Condition::Event::machine_still: out += " until the machine stands"; break;
        }
    return out;
}

}  // namespace

std::string words_of(const sim::Fault& fault, const sim::Scenario& scenario) {
    const bool of_end = fault.error == sim::ErrorKind::none;
    std::string error(of_end ? name_of(fault.way) : name_of(fault.error));
    std::replace(error.begin(), error.end(), '-', ' ');
    if (fault.by_hand) error += " by hand";
    std::string out = error + ", " + deed_of(fault, scenario);
    if (fault.lasting) out += " for " + sim::written(*fault.lasting);
    const bool times_said = fault.way == FaultWay::drop;
    if (fault.times && *fault.times > 1 && !times_said) out += ", " + grouped(*fault.times) + " times";
    if (fault.every > 1) out += ", one in " + grouped(fault.every);
    return out + words_of(fault.when);
}

std::string_view name_of_way(sim::Direction way) {
    return way == sim::Direction::to_device ? "to-device" : "to-controller";
}

std::string way_of(const sim::InjectionResult& injection) {
    if (injection.at_end) return *injection.at_end == sim::End::controller ? "at C" : "at D";
    if (injection.both_ways) return "both";
    return injection.direction == sim::Direction::to_device ? "C>D" : "D>C";
}

std::string caught_by(const sim::InjectionResult& injection, const EndNames& names) {
    if (!injection.detected_by) return injection.outcome == sim::Outcome::dangerous ? "nobody" : "-";
    std::string out = injection.detected_end ? names.of(*injection.detected_end) + ": " : "";
    out += word_for(*injection.detected_by);
    if (injection.owing_to && injection.owing_to != injection.detected_by)
        out += " (owing to " + std::string(word_for(*injection.owing_to)) + ")";
    return out;
}

std::string all_zero_caution() {
    return "a good telegram can be nothing but zeros, which every end rejects: the link would stop for nothing; write "
           "zero_as_one = true, or a CRC with another initial value";
}

std::string file_and_link(const sim::Scenario& scenario) {
    return shell_word(scenario.file) + (scenario.cell_link.empty() ? "" : " --link " + shell_word(scenario.cell_link));
}

}  // namespace tools
