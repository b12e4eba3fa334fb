#include "sim/measures/trial.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

using proto::Exchange;
using proto::LinkSettings;
using proto::microseconds;
using proto::milliseconds;

// Times of a trial. An error begins when 64 numbers have passed, also in a polled link that takes two cycles for each.
constexpr std::uint64_t begins_within_us = 150'000;
constexpr Duration creeps_for = milliseconds(1300);
constexpr Duration begins_in(Exchange exchange) { return milliseconds(exchange == Exchange::polled ? 1400 : 750); }
constexpr Duration lasts_in(Exchange exchange) { return begins_in(exchange) + milliseconds(1600); }
constexpr unsigned widest_round = 6;              ///< bits of a number that comes round within a trial
constexpr Duration required = milliseconds(100);  ///< longest age of a value, each way
constexpr std::uint64_t signals_each_way = 6;
constexpr std::uint64_t payload_longest = 16;

/// Signals on random bits of payloads that come and go by lot: often enough that telegrams differ from earlier ones
/// even where nothing else in them does, and each time for longer than an exchange takes.
void draw_payloads(Scenario& s, TrialDraws& draws) {
    for (const Direction direction : {Direction::to_device, Direction::to_controller}) {
        const bool out = direction == Direction::to_device;
        const std::uint64_t bits = std::uint64_t{s.controller.link.payload_sent} * 8;
        const std::uint64_t step = bits / signals_each_way;
        for (std::uint64_t i = 0; i < signals_each_way; ++i) {
            const std::string name = (out ? "out " : "back ") + std::to_string(i);
            s.safeguards.push_back({name, sender(direction), {}, milliseconds(1), {}});
            s.signals.push_back({name, direction, {name}, {}});
            const auto bit = static_cast<unsigned>(i * step + draws.below(step));
            for (TypedEnd* end : {&s.controller, &s.device}) {
                const bool sends = sender(direction) == end->link.end;
                end->bits.push_back({name, {bit / 8, bit % 8}, {}});
                std::uint8_t& byte = (sends ? end->link.bits_sent : end->link.bits_received)[bit / 8];
                byte = static_cast<std::uint8_t>(byte | 1U << bit % 8);
            }
            for (Duration at = draws.ms_between(0, 120); at < s.duration; at = at + draws.ms_between(60, 120)) {
                const Duration taken_away = draws.ms_between(60, 120);
                s.demands.push_back({name, at, taken_away, {}});
                at = at + taken_away;
            }
        }
    }
}

ChannelSettings good_channel() {
    ChannelSettings channel;
    channel.delay = {DelayShape::Kind::uniform, microseconds(500), microseconds(1500), {}};
    return channel;
}

/// On the way out, on the way back, or, where that makes a difference of its own, both.
void draw_ways(Fault& fault, TrialDraws& draws) {
    const bool both_possible = fault.way == FaultWay::drop || fault.way == FaultWay::step;
    const std::uint64_t drawn = draws.below(both_possible ? 3 : 2);
    fault.to_device = drawn != 1;
    fault.to_controller = drawn != 0;
}

}  // namespace

Scenario scenario_of(const StudyLink& link, TrialDraws& draws) {
    Scenario s;
    s.title = "one error";
    s.duration = lasts_in(link.exchange);
    s.device_phase = microseconds(static_cast<std::int64_t>(draws.below(10'000)));
    s.controller.name = "controller";
    s.device.name = "device";
    s.controller.link = link.controller;
    s.device.link = link.device;
    s.use = link.use;
    if (link.payload == StudyLink::Payload::any_length) {
        const auto bytes = static_cast<unsigned>(draws.between(1, payload_longest));
        for (LinkSettings* end : {&s.controller.link, &s.device.link})
            end->payload_sent = end->payload_received = end->profile.payload_bytes = bytes;
    }
    s.other_traffic_crc = link.other_traffic_crc;
    s.to_device = s.to_controller = good_channel();
    s.required.to_device = s.required.to_controller = required;
    s.neighbour.emplace();
    const proto::Field& address = link.controller.profile.address;
    const bool wide = address.presence == proto::Presence::absent || address.bits >= 8;
    s.neighbour->controller_address = wide ? 0x61 : address.bits >= 2 ? 3 : 0;
    s.neighbour->device_address = wide ? 0x62 : address.bits >= 2 ? 0 : 1;
    draw_payloads(s, draws);
    return s;
}

Fault fault_of(const StudyWay& way, const StudyLink& link, TrialDraws& draws) {
    Fault fault;
    fault.way = way.way;
    fault.error = error_of(way.way);
    fault.at = begins_in(link.exchange) + microseconds(static_cast<std::int64_t>(draws.below(begins_within_us)));
    draw_ways(fault, draws);
    switch (way.way) {
        case FaultWay::random_bits: fault.count = static_cast<unsigned>(draws.between(1, 8)); break;
        case FaultWay::burst: fault.length = static_cast<unsigned>(draws.between(2, 12)); break;
        case FaultWay::beside:
        case FaultWay::instead:
            fault.back = way.from == StudyWay::From::one_round_ago ? (1U << link.controller.profile.sequence.bits) - 1
                                                                   : static_cast<unsigned>(draws.between(1, 30));
            break;
        case FaultWay::hold: fault.hold = draws.ms_between(15, 120); break;
        // both outlast the watchdog and what is required
        case FaultWay::drop: fault.lasting = draws.ms_between(150, 400); break;
        case FaultWay::step:
            fault.extra = draws.ms_between(110, 200);
            fault.lasting = draws.ms_between(150, 400);
            break;
        case FaultWay::creeping:
            fault.extra = draws.ms_between(110, 200);
            fault.lasting = creeps_for;
            break;
        default: break;
    }
    return fault;
}

std::vector<StudyWay> ways_of(ErrorKind error, const StudyLink& link) {
    using enum FaultWay;
    switch (error) {
        case ErrorKind::corruption: return {{random_bits}, {burst}};
        case ErrorKind::repetition: {
            std::vector<StudyWay> ways{{beside}, {instead}, {current_again}};
            const unsigned bits = link.controller.profile.sequence.bits;
            if (bits >= 1 && bits <= widest_round) ways.push_back({beside, StudyWay::From::one_round_ago});
            return ways;
        }
        case ErrorKind::incorrect_sequence: return {{hold}};
        case ErrorKind::loss: return {{drop}};
        case ErrorKind::delay: return {{step}, {creeping}};
        case ErrorKind::insertion: return {{neighbour}, {stray}};
        case ErrorKind::masquerade: return {{other_crc}, {no_crc}};
        case ErrorKind::addressing: return {{swap}, {loop_back}};
        case ErrorKind::none: break;
    }
    return {};
}

std::string name_of(const StudyWay& way) {
    std::string name(name_of(way.way));
    if (way.from == StudyWay::From::one_round_ago) name += ", one round of its number ago";
    return name;
}

}  // namespace sim
