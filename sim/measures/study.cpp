#include "sim/measures/study.hpp"

#include <algorithm>
#include <atomic>
#include <mutex>
#include <optional>
#include <thread>

#include "proto/contract.hpp"
#include "sim/drive/limits.hpp"
#include "sim/drive/world.hpp"

namespace sim {
namespace {

using proto::Exchange;
using proto::LinkSettings;
using proto::Measure;
using proto::microseconds;
using proto::milliseconds;

// Times of a trial. An error begins when 64 numbers have passed, also in a polled link that takes two cycles for each.
constexpr std::uint64_t begins_within_us = 150'000;
constexpr Duration creeps_for = milliseconds(1300);
constexpr Duration begins_in(Exchange exchange) { return milliseconds(exchange == Exchange::polled ? 1400 : 750); }
constexpr Duration lasts_in(Exchange exchange) { return begins_in(exchange) + milliseconds(1600); }
/// Shorter than a restarted link needs to say anything.
constexpr Duration looks_each = milliseconds(5);
constexpr Duration required = milliseconds(100);  ///< longest age of a value, each way
constexpr unsigned widest_round = 6;              ///< bits of a number that comes round within a trial
constexpr std::uint64_t signals_each_way = 6;
constexpr std::uint64_t payload_longest = 16;
constexpr unsigned attempts = 16;

/// The draws of one trial, one after the other.
class Draws {
  public:
    Draws(std::uint64_t seed, std::uint64_t part) : random_(seed, Concern::trial, part) {}
    std::uint64_t any() { return random_.at(drawn_++); }
    std::uint64_t below(std::uint64_t count) { return scale(any(), count); }
    std::uint64_t between(std::uint64_t low, std::uint64_t high) { return low + below(high - low + 1); }
    Duration ms_between(std::uint64_t low, std::uint64_t high) {
        return microseconds(static_cast<std::int64_t>(between(low * 1000, high * 1000)));
    }

  private:
    Random random_;
    std::uint64_t drawn_ = 0;
};

// ---- one trial's scenario

/// Signals on random bits of payloads that come and go by lot: often enough that telegrams differ from earlier ones
/// even where nothing else in them does, and each time for longer than an exchange takes.
void draw_payloads(Scenario& s, Draws& draws) {
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

Scenario scenario_of(const StudyLink& link, Draws& draws) {
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

/// On the way out, on the way back, or, where that makes a difference of its own, both.
void draw_ways(Fault& fault, Draws& draws) {
    const bool both_possible = fault.way == FaultWay::drop || fault.way == FaultWay::step;
    const std::uint64_t drawn = draws.below(both_possible ? 3 : 2);
    fault.to_device = drawn != 1;
    fault.to_controller = drawn != 0;
}

Fault fault_of(const StudyWay& way, const StudyLink& link, Draws& draws) {
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

// ---- one trial

struct Seen {
    bool started = false;
    bool fired = false;
    bool dangerous = false;
    bool stopped_for_nothing = false;
    proto::MeasureSet measures;
};

/// Runs until something stopped the link: what a restart says besides is no longer about the error.
void run_to_stop(World& world, const Scenario& scenario) {
    const Instant end = Instant{} + scenario.duration;
    world.run_until(Instant{} + (scenario.faults.empty() ? scenario.duration : *scenario.faults.front().at));
    while (world.now() < end && world.running()) world.run_until(std::min(end, world.now() + looks_each));
}

/// Late is never for what only makes time pass; any other error has happened once a wrong telegram is taken for right,
/// whatever is noticed afterwards.
bool too_late(const InjectionResult& injection) {
    return injection.outcome == Outcome::dangerous && injection.error != ErrorKind::loss &&
           injection.error != ErrorKind::delay;
}

Seen run_world(const Scenario& scenario, std::uint64_t seed) {
    Limits limits = limits_of(scenario).limits;
    limits.settle = scenario.duration;  // nothing else happens: whatever is seen is of this error
    World world(scenario, seed, WithFaults::yes, limits);
    run_to_stop(world, scenario);
    RunResult result;
    world.finish(result, world.now());
    Seen seen;
    seen.started = result.link_started;
    if (result.injections.empty()) {
        seen.stopped_for_nothing = result.spurious_trips != 0 || !world.running();
        return seen;
    }
    const InjectionResult& injection = result.injections.front();
    seen.fired = injection.outcome != Outcome::not_fired;
    seen.dangerous = injection.outcome == Outcome::dangerous;
    if (!injection.detected_by || too_late(injection)) return seen;
    seen.measures = injection.also_by;
    seen.measures.add(*injection.detected_by);
    if (injection.owing_to) seen.measures.add(*injection.owing_to);
    return seen;
}

/// Whether it is the difference of the integrity systems that did it: with traffic of the link's own kind beside it
/// the CRC would have found nothing wrong.
bool owing_to_difference(const StudyLink& link, Scenario scenario, std::uint64_t seed, const Seen& seen) {
    if (scenario.faults.front().error != ErrorKind::masquerade) return false;  // no foreign CRC comes into it
    if (!link.measures.has(Measure::different_integrity) || !seen.measures.has(Measure::integrity)) return false;
    scenario.other_traffic_crc = link.controller.profile.crc;
    scenario.faults.front().way = FaultWay::other_crc;
    return !run_world(scenario, seed).measures.has(Measure::integrity);
}

/// Part of the stream of draws: the same for all links.
std::uint64_t part_of(std::size_t error, unsigned attempt, unsigned trial) {
    return static_cast<std::uint64_t>(error) << 40 | std::uint64_t{attempt} << 32 | trial;
}

Tally tally_of(const Seen& seen, const StudyLink& link, ErrorKind error) {
    Tally tally;
    tally.trials = 1;
    bool any = false, marked = false;
    for (unsigned i = 0; i < proto::measure_count; ++i) {
        const auto measure = static_cast<Measure>(i);
        // a handshake has measures of its own, which are not looked at here
        if (!seen.measures.has(measure) || !link.measures.has(measure)) continue;
        tally.seen[i] = 1;
        any = true;
        marked = marked || published(Source::iec_62541_15, error, measure).value_or(false);
    }
    tally.seen_by_any = any ? 1 : 0;
    tally.late = any && seen.dangerous ? 1 : 0;
    tally.harmless = !any && !seen.dangerous ? 1 : 0;
    tally.missed = !any && seen.dangerous ? 1 : 0;
    tally.as_in_table_2 = marked ? 1 : 0;
    return tally;
}

struct Task {
    std::size_t link;
    std::size_t error;  ///< index in study_errors; their number: without an error
};

void try_error(const StudyLink& link, std::size_t index, const StudyEffort& effort, LinkFinding& finding) {
    ErrorFinding& found = finding.errors[index];
    found.error = study_errors[index];
    for (const StudyWay& way : ways_of(found.error, link)) found.ways.push_back({way, {}});
    for (unsigned trial = 0; trial < effort.trials; ++trial) {
        ErrorFinding::OfWay& of_way = found.ways[trial % found.ways.size()];
        StudyWay way = of_way.way;
        // traffic of the link's own kind never comes without its CRC
        if (link.other_traffic_crc && way.way == FaultWay::no_crc) way.way = FaultWay::other_crc;
        Seen seen;
        for (unsigned attempt = 0; attempt < attempts && !seen.fired; ++attempt) {
            Draws draws(effort.seed, part_of(index, attempt, trial));
            Scenario scenario = scenario_of(link, draws);
            scenario.faults = {fault_of(way, link, draws)};
            const std::uint64_t seed = draws.any();
            seen = run_world(scenario, seed);
            if (!seen.started) break;
            if (owing_to_difference(link, scenario, seed, seen)) seen.measures.add(Measure::different_integrity);
        }
        proto::require(!seen.started || seen.fired, "an error that cannot be injected");
        if (!seen.started) ++found.not_started;
        const Tally tally = tally_of(seen, link, found.error);
        of_way.tally.add(tally);
        found.all.add(tally);
    }
}

void try_none(const StudyLink& link, const StudyEffort& effort, LinkFinding& finding) {
    for (unsigned trial = 0; trial < effort.trials; ++trial) {
        Draws draws(effort.seed, part_of(study_error_count, 0, trial));
        const Scenario scenario = scenario_of(link, draws);
        const Seen seen = run_world(scenario, draws.any());
        LinkFinding::Control& control = finding.control;
        ++control.trials;
        if (seen.stopped_for_nothing) ++control.seen;
        if (!seen.started) ++control.not_started;
    }
}

}  // namespace

void Tally::add(const Tally& other) {
    trials += other.trials;
    for (std::size_t i = 0; i < seen.size(); ++i) seen[i] += other.seen[i];
    seen_by_any += other.seen_by_any;
    late += other.late;
    harmless += other.harmless;
    missed += other.missed;
    as_in_table_2 += other.as_in_table_2;
}

bool LinkFinding::sound() const {
    return control.seen == 0 && control.not_started == 0 &&
           std::all_of(errors.begin(), errors.end(), [](const ErrorFinding& e) { return e.not_started == 0; });
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

std::vector<LinkFinding> study(const std::vector<StudyLink>& links, const StudyEffort& effort) {
    proto::require(effort.trials >= 1, "study() of no trials");
    std::vector<LinkFinding> findings(links.size());
    constexpr std::size_t tasks_each = study_error_count + 1;
    const std::size_t tasks = links.size() * tasks_each;
    std::atomic<std::size_t> next{0};
    std::size_t done = 0;
    std::mutex mutex;
    const auto work = [&] {
        for (std::size_t i = next++; i < tasks; i = next++) {
            const Task task{i / tasks_each, i % tasks_each};
            LinkFinding& finding = findings[task.link];
            if (task.error < study_error_count)
                try_error(links[task.link], task.error, effort, finding);
            else
                try_none(links[task.link], effort, finding);
            const std::lock_guard lock(mutex);
            ++done;
            if (effort.progress) effort.progress(static_cast<double>(done) / static_cast<double>(tasks));
        }
    };
    std::vector<std::thread> others;
    for (unsigned i = 1; i < effort.jobs; ++i) others.emplace_back(work);
    work();
    for (std::thread& other : others) other.join();
    return findings;
}

}  // namespace sim
