// What a drill takes as evidence tells it apart: at its own plant that reading looks different from the healthy one,
// and one of them from each look-alike.
#include <doctest/doctest.h>

#include <array>
#include <map>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include "sim/reading/read_drill.hpp"
#include "sim/training/drill_check.hpp"
#include "sim/training/measured_here.hpp"
#include "sim/training/words.hpp"
#include "tests/support/drills.hpp"

namespace {

using sim::Bench;
using sim::End;

using tests::drills;

std::string yes(bool is) { return is ? "1" : "0"; }
/// Far from nothing, and from each other: what a person takes for "more".
std::string size_of(sim::Duration time) { return std::to_string(time.ns / 20'000'000); }

std::string panel(const Bench& bench, End end) {
    const sim::Panel p = bench.panel(end);
    std::string text = std::string(sim::id_of(p.state)) + (p.cause ? std::string(sim::id_of(*p.cause)) : "");
    text += proto::name_of(p.refusal);
    for (const auto count : p.counters.rejected) text += yes(count > 0);
    if (p.dark) return "dark";
    return text + std::to_string(p.starts) + yes(p.received_per_second > 0) + yes(p.counters.accepted > 0) +
           std::to_string(p.watchdog.ns);
}

/// What arrived and how it was taken; whether what was rejected came besides the right ones; its check value.
std::string telegrams(const Bench& bench) {
    std::map<std::string, std::set<std::string>> seen;
    std::vector<sim::Seen> all(bench.recorder().around_first_stop());
    all.insert(all.end(), bench.recorder().latest().begin(), bench.recorder().latest().end());
    std::set<std::uint32_t> numbers;
    for (const sim::Seen& one : all) {
        if (one.kind != sim::Seen::Kind::arrived || !one.verdict) continue;
        const std::string end = one.end == End::controller ? "c" : "d";
        if (one.verdict->kind != proto::Verdict::Kind::rejected) {
            seen[end].insert("k" + std::to_string(static_cast<int>(one.verdict->kind)));
            if (one.number) numbers.insert(*one.number);
            continue;
        }
        const bool zeros =
            one.bytes.size() > 4 && one.bytes[one.bytes.size() - 1] == 0 && one.bytes[one.bytes.size() - 2] == 0;
        const bool came_before = one.number && numbers.count(*one.number) == 1;
        seen[end].insert(std::string(proto::name_of(one.verdict->failed.first())) + yes(one.bits_changed > 0) +
                         yes(zeros) + yes(came_before));
    }
    std::string text;
    for (const auto& [end, kinds] : seen)
        for (const std::string& kind : kinds) text += end + kind + " ";
    return text;
}

std::string signals(const Bench& bench) {
    std::string text;
    for (const sim::SignalShown& signal : bench.signals()) text += yes(signal.sent) + yes(signal.used) + " ";
    for (std::size_t i = 0; i < bench.scenario().safeguards.size(); ++i)
        text += yes(bench.plant().safeguard(i).latched());
    return text + yes(bench.acknowledge_contact());
}

/// Which signals fell, and by how many samples later at their receiver, while each guard was demanded in turn.
std::string after_demands(Bench& bench) {
    std::string text;
    for (std::size_t guard = 0; guard < bench.scenario().safeguards.size(); ++guard) {
        const sim::Instant begun = bench.now();
        bench.demand(guard);
        bench.run_until(begun + sim::Bench::test_lasting);
        std::array<std::uint64_t, 2> fell{};
        int apart = 0;
        for (std::size_t link = 0; link < bench.links(); ++link)
            for (const sim::StripSample& sample : bench.of_link(link).record().latest) {
                if (sample.at <= begun) continue;
                for (unsigned i = 0; i < 2; ++i) fell[i] |= ~sample.safeguards_and_used[i] & 7;
                apart += (sample.safeguards_and_used[0] & 3) != (sample.safeguards_and_used[1] & 3) ? 1 : 0;
            }
        text += std::to_string(fell[0]) + "/" + std::to_string(fell[1]) + "/" + std::to_string(apart / 4) + " ";
        bench.run_until(bench.now() + proto::seconds(1));
    }
    return text;
}

std::string settings(const sim::Scenario& sheet, const sim::Scenario& typed) {
    std::string text;
    for (const bool at_device : {false, true}) {
        const sim::TypedEnd &s = at_device ? sheet.device : sheet.controller,
                            &t = at_device ? typed.device : typed.controller;
        text += yes(s.link.watchdog == t.link.watchdog) + yes(s.link.own_address == t.link.own_address) +
                yes(s.link.peer_address == t.link.peer_address);
        for (std::size_t i = 0; i < s.bits.size(); ++i)
            for (const sim::TypedBit& bit : t.bits)
                if (bit.signal == s.bits[i].signal) text += yes(bit.place.bit == s.bits[i].place.bit);
    }
    return text;
}

/// Of one link what is read without doing anything.
std::string reading_of(const std::string& which, const Bench& bench) {
    const sim::Recorder& recorder = bench.recorder();
    if (which == "controller-panel") return panel(bench, End::controller);
    if (which == "io-panel") return panel(bench, End::device);
    if (which == "signals") return signals(bench);
    if (which == "telegrams") return telegrams(bench);
    if (which == "longest-cycle") return size_of(bench.panel(End::controller).longest_cycle);
    if (which == "round-trips") return size_of(*recorder.round_trip().longest);
    if (which == "on-since") return std::to_string(bench.panel(End::device).starts);
    if (which == "ages") {
        const auto grew = [&](End end) {
            const sim::Measured& age = recorder.age(end);
            return size_of(*age.longest) + ">" + size_of(*age.shortest) + " ";
        };
        return grew(End::controller) + grew(End::device);
    }
    REQUIRE(which == "neighbour");
    std::string text;
    for (const End end : {End::controller, End::device})
        text += std::string(sim::id_of(bench.neighbour(end)->state)) +
                std::string(proto::name_of(bench.neighbour(end)->refusal));
    return text;
}

/// What rises in a second, at both ends of each link.
std::string received(Bench& bench) {
    std::vector<proto::Counters> before;
    for (std::size_t i = 0; i < bench.links(); ++i)
        for (const End end : {End::controller, End::device}) before.push_back(bench.of_link(i).panel(end).counters);
    bench.run_until(bench.now() + proto::seconds(1));
    std::string text;
    for (std::size_t i = 0; i < before.size(); ++i) {
        const auto now = bench.of_link(i / 2).panel(static_cast<End>(i % 2)).counters;
        text += yes(now.received > before[i].received) + yes(now.number_received != before[i].number_received) + " ";
    }
    return text;
}

/// What a person reads, as far as it tells anything.
std::string reading(const std::string& which, const sim::Drill& drill) {
    const std::unique_ptr<Bench> at = sim::bench_of(drill, drill.scenario.seed);
    Bench& bench = *at;
    if (which == "test-demand" || which == "time-line") return after_demands(bench);
    if (which == "received-counters") return received(bench);
    std::string text;
    for (std::size_t i = 0; i < bench.links(); ++i) {
        if (which != "settings")
            text += reading_of(which, bench.of_link(i));
        else if (drill.cell)
            text += settings(drill.cell_sheet->links[i].alone, drill.cell->links[i].alone);
        else
            text += settings(drill.link_sheet, drill.scenario);
    }
    return text;
}

}  // namespace

TEST_CASE("the evidence of a drill can be read at its plant, and looks different from that of the healthy one") {
    for (const sim::Drill& drill : drills().drills) {
        CAPTURE(drill.number);
        sim::Drill healthy = drill;
        healthy.scenario = drill.link_sheet;
        healthy.cell = drill.cell_sheet;
        for (const std::string& which : drill.evidence) {
            CAPTURE(which);
            CHECK(sim::why_not_measured(drill.scenario, which).empty());
            // an age is read by a stamp, which the sheet of the lift's plant does not have
            if (!sim::why_not_measured(healthy.scenario, which).empty()) continue;
            // or at least from a look-alike: that the neighbour runs tells one that is exchanged from one that is not
            bool tells = reading(which, drill) != reading(which, healthy);
            for (const unsigned number : drill.look_alikes)
                tells = tells || reading(which, drill) != reading(which, *drills().find(number));
            CHECK(tells);
        }
    }
}

TEST_CASE("the evidence of a drill tells it from each of its look-alikes") {
    for (const sim::Drill& drill : drills().drills)
        for (const unsigned number : drill.look_alikes) {
            const sim::Drill* const other = drills().find(number);
            REQUIRE(other != nullptr);
            CAPTURE(drill.number);
            CAPTURE(number);
            bool told_apart = false;
            for (const std::string& which : drill.evidence) {
                if (!sim::why_not_measured(other->scenario, which).empty()) {
                    told_apart = true;
                    continue;
                }
                told_apart = told_apart || reading(which, drill) != reading(which, *other);
            }
            CHECK(told_apart);
        }
}

TEST_CASE("three stations: what is evidence tells each silent station from each other") {
    const sim::Drill& drill = *drills().find(24);
    REQUIRE(drill.variants.size() == 2);
    const std::array<const sim::Drill*, 3> all{&drill, &drill.variants[0], &drill.variants[1]};
    for (const sim::Drill* const one : all)
        for (const std::string& which : one->evidence)
            for (const sim::Drill* const other : all)
                if (one != other) CHECK(reading(which, *one) != reading(which, *other));
}

TEST_CASE("the twin: the rejected telegrams carry the numbers that the neighbour's panel shows") {
    const sim::Drill& twin = *drills().find(8);
    const auto bench = sim::bench_of(twin, twin.scenario.seed);
    const std::uint32_t now = bench->neighbour(End::controller)->counters.number_sent;
    unsigned rejected = 0;
    for (const sim::Seen& seen : bench->recorder().latest()) {
        if (seen.kind != sim::Seen::Kind::arrived || !seen.verdict || seen.end != End::device) continue;
        if (seen.verdict->kind != proto::Verdict::Kind::rejected) continue;
        ++rejected;
        REQUIRE(seen.number);
        CHECK(((now - *seen.number) & 0xFF) < 64);  // sent a moment ago; the number has 8 bits
        CHECK(seen.bits_changed == 0);
    }
    CHECK(rejected > 10);
}
