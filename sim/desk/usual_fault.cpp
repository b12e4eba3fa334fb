#include "sim/desk/usual_fault.hpp"

#include <algorithm>

#include "proto/telegram.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"

namespace sim {
namespace {

const std::string& name_of_end(const Scenario& link, End end) { return link.end(end).name; }

bool crosses(FaultWay way) {
    return way == FaultWay::neighbour || way == FaultWay::swap || way == FaultWay::misdeliver;
}

Duration longest_watchdog(const Scenario& link) {
    return std::max(link.controller.link.watchdog, link.device.link.watchdog);
}

/// The first bit of the payload, in the shorter of the two telegrams.
unsigned payload_bit(const Scenario& link, bool to_device) {
    const proto::LinkSettings& settings = link.controller.link;
    return proto::places_of(settings.profile, to_device ? settings.payload_sent : settings.payload_received)
        .payload.first_bit;
}

void put_extent(const Scenario& link, Fault& fault) {
    const Duration watchdog = longest_watchdog(link);
    switch (fault.way) {
        case FaultWay::flip_bits: fault.bits = {payload_bit(link, fault.to_device)}; return;
        case FaultWay::random_bits: fault.count = 3; return;
        case FaultWay::burst: fault.length = 16; return;
        case FaultWay::bit_rate:
            fault.rate = 0.01;
            fault.lasting = proto::seconds(1);
            return;
        case FaultWay::hold: fault.hold = watchdog + link.controller.link.cycle; return;
        case FaultWay::drop: fault.lasting = watchdog * 2; return;
        case FaultWay::step:
            fault.extra = watchdog;
            fault.lasting = proto::seconds(1);
            return;
        case FaultWay::creeping:
            fault.extra = watchdog;
            fault.lasting = proto::seconds(5);
            return;
        case FaultWay::swap:
        case FaultWay::misdeliver: fault.lasting = watchdog; return;
        case FaultWay::restart: fault.lasting = proto::milliseconds(500); return;
        case FaultWay::stall: fault.lasting = watchdog * 2; return;
        case FaultWay::clock_drift: fault.drift_ppm = 20'000; return;
        default: return;  // one telegram, or until it is taken out
    }
}

std::string what_of(const Fault& fault) {
    switch (fault.way) {
        case FaultWay::flip_bits:
            return fault.bits.size() == 1 ? "bit " + std::to_string(fault.bits.front()) + " flipped" : "bits flipped";
        case FaultWay::random_bits:
            return std::to_string(fault.count) + (fault.count == 1 ? " random bit flipped" : " random bits flipped");
        case FaultWay::burst: return "a burst of " + std::to_string(fault.length) + " bits";
        case FaultWay::bit_rate: return "bits flipped at random";
        case FaultWay::truncate: return "cut off at its end";
        case FaultWay::beside: return "an earlier telegram besides";
        case FaultWay::instead: return "an earlier telegram instead";
        case FaultWay::current_again: return "the same telegram twice";
        case FaultWay::old_parameters: return "parameters of an earlier start";
        case FaultWay::hold: return "held back by " + written(fault.hold);
        case FaultWay::drop: return "lost";
        case FaultWay::step: return "late by " + written(fault.extra);
        case FaultWay::creeping: return "later by " + written(fault.extra) + " more each second";
        case FaultWay::neighbour: return "a telegram of the neighbour besides";
        case FaultWay::stray: return "a telegram of an earlier start besides";
        case FaultWay::no_crc: return "a telegram without a check value";
        case FaultWay::other_crc: return "a telegram with the check value of other traffic";
        case FaultWay::all_zero: return "a telegram of zeros";
        case FaultWay::swap: return "exchanged with the neighbour's";
        case FaultWay::misdeliver: return "led to the neighbour";
        case FaultWay::loop_back: return "led back to its sender";
        case FaultWay::restart: return "without power";
        case FaultWay::stall: return "does not scan";
        case FaultWay::frozen_data: return "takes in no new values";
        case FaultWay::clock_drift:
            return "its clock is " + std::string(fault.drift_ppm > 0 ? "fast" : "slow") + " by " +
                   std::to_string(fault.drift_ppm > 0 ? fault.drift_ppm : -fault.drift_ppm) + " millionths";
        case FaultWay::drive_does_not_slow: return "its drive does not obey a reduced speed";
    }
    return "?";
}

std::optional<std::string> why_no_end_fault(const Scenario& link, const Fault& fault) {
    if (!fault.at_end) return "a fault of an end needs the end that fails";
    const bool needs_end = fault.way == FaultWay::restart || fault.way == FaultWay::stall;
    if (needs_end && !fault.lasting) return "it must say for how long";
    if (fault.way == FaultWay::clock_drift && fault.drift_ppm == 0) return "a clock with 0 millionths is right";
    if (fault.way != FaultWay::drive_does_not_slow) return std::nullopt;
    if (!link.machine || link.machine->reduced_speed_um_s == 0) return "there is no machine with a reduced speed";
    if (fault.at_end != link.machine->at)
        return "the machine is at " + name_of_end(link, link.machine->at) + ", not at this end";
    return std::nullopt;
}

std::optional<std::string> why_no_bits(const Scenario& link, const Fault& fault) {
    for (const Direction way : {Direction::to_device, Direction::to_controller}) {
        if (!(way == Direction::to_device ? fault.to_device : fault.to_controller)) continue;
        const proto::LinkSettings& settings = link.controller.link;
        const auto layout = proto::layout_of(
            settings.profile, way == Direction::to_device ? settings.payload_sent : settings.payload_received);
        if (!layout) return "its telegrams have no layout";
        const unsigned bits = layout.value().total_bytes * 8;
        if (fault.length > bits) return "a telegram has " + std::to_string(bits) + " bits only";
        for (const unsigned bit : fault.bits)
            if (bit >= bits) return "a telegram has " + std::to_string(bits) + " bits only";
    }
    return std::nullopt;
}

}  // namespace

Fault usual_fault(const Scenario& link, FaultWay way, FaultDirection direction, std::optional<End> at_end) {
    Fault fault;
    fault.way = way;
    fault.error = error_of(way);
    fault.to_device = direction != FaultDirection::to_controller;
    fault.to_controller = direction != FaultDirection::to_device;
    if (way == FaultWay::old_parameters) {
        // the offer of the parameters goes out only
        fault.to_device = true;
        fault.to_controller = false;
    }
    if (fault.error == ErrorKind::none) {
        const bool of_drive = way == FaultWay::drive_does_not_slow && link.machine;
        fault.at_end = at_end.value_or(of_drive ? link.machine->at : End::device);
        // what it touches first is what that end would send
        fault.to_device = fault.at_end == End::controller;
        fault.to_controller = !fault.to_device;
    }
    put_extent(link, fault);
    return fault;
}

std::optional<std::string> why_impossible(const Scenario& link, const Fault& fault) {
    if (fault.error == ErrorKind::none) return why_no_end_fault(link, fault);
    if (!fault.to_device && !fault.to_controller) return "it must touch one way at least";
    if (crosses(fault.way) && !link.neighbour)
        return "it needs a neighbour link: write a table [neighbour] with the addresses of its two ends";
    if (fault.way == FaultWay::old_parameters && fault.to_controller) return "the offer of parameters goes out only";
    if (fault.lasting && fault.times) return "either so many telegrams or so long, not both";
    if (fault.way == FaultWay::creeping && !fault.lasting) return "it must say for how long";
    const bool polled = link.controller.link.exchange == proto::Exchange::polled;
    // one of several telegrams, taken out after the first, would be one late telegram in the file
    if (fault.way == FaultWay::step && polled && !fault.lasting)
        return "a polled link rides through one late telegram: say for how long";
    return why_no_bits(link, fault);
}

std::string words_of(const Scenario& link, const Fault& fault) {
    std::string words = what_of(fault);
    if (fault.at_end)
        words = name_of_end(link, *fault.at_end) + " " + words;
    else if (fault.to_device && fault.to_controller)
        words += ", both ways";
    else
        words += ", to " + name_of_end(link, fault.to_device ? End::device : End::controller);
    if (fault.lasting && *fault.lasting < proto::seconds(100'000'000)) words += ", for " + written(*fault.lasting);
    if (fault.times && *fault.times != 1) words += ", " + std::to_string(*fault.times) + " telegrams";
    return words;
}

}  // namespace sim
