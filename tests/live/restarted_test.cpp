// A part that is ended and started anew while the others go on: its end counts as switched off and on, as a scenario's
// own fault would do it.
#include <algorithm>
#include <variant>

#include <doctest/doctest.h>

#include "sim/drive/by_hand.hpp"
#include "sim/drive/limits.hpp"
#include "sim/drive/network_counts.hpp"
#include "sim/drive/rehearsal.hpp"
#include "sim/drive/verdict.hpp"
#include "tests/support/live_table.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::Instant;
using proto::milliseconds;
using proto::seconds;
using sim::End;
using sim::Part;

constexpr Instant from = Instant{} + milliseconds(1502);
constexpr Instant until = Instant{} + milliseconds(2013);

/// A link with a machine that runs, and a demand after all.
sim::Scenario link() {
    sim::Scenario s = tests::polled_link();
    s.duration = seconds(5);
    s.demands = {{.safeguard = s.safeguards.front().name, .at = seconds(4), .lasting = milliseconds(300), .where = {}}};
    return s;
}

sim::RunResult judged(const sim::Scenario& s, const sim::PartRecords& records) {
    const sim::Scenario run = sim::with_restarts(s, records);
    const sim::ScenarioLimits limits = sim::limits_of(run);
    auto result = sim::join(run, 1, limits, records);
    REQUIRE(result);
    result->twin = sim::twin_of(run, 1, limits.limits);
    sim::conclude(run, limits, *result);
    return std::move(*result);
}

sim::RunResult by_hand(const sim::Scenario& s, Part part) {
    tests::LiveTable table(s);
    table.restart(part, from, until);
    return judged(s, table.run());
}

/// The same as a fault of the scenario, live.
sim::RunResult by_fault(const sim::Scenario& s, End end) {
    const sim::Scenario with = sim::with_restarts(s, end, {{from, until}});
    tests::LiveTable table(with);
    return judged(with, table.run());
}

void check_same(const sim::RunResult& a, const sim::RunResult& b) {
    CHECK(a.verdict == b.verdict);
    CHECK(a.spurious_trips == b.spurious_trips);
    CHECK(a.stops == b.stops);
    CHECK(a.acknowledgements == b.acknowledgements);
    CHECK(a.dangerous.size() == b.dangerous.size());
    REQUIRE(a.injections.size() == b.injections.size());
    for (std::size_t i = 0; i < a.injections.size(); ++i) {
        CHECK(a.injections[i].outcome == b.injections[i].outcome);
        CHECK(a.injections[i].detected_by == b.injections[i].detected_by);
        CHECK(a.injections[i].at == b.injections[i].at);
        CHECK(a.injections[i].standstill == b.injections[i].standstill);
        CHECK(a.injections[i].safe_state_device == b.injections[i].safe_state_device);
        CHECK(a.injections[i].safe_state_controller == b.injections[i].safe_state_controller);
    }
    REQUIRE(a.demands.size() == b.demands.size());
    for (std::size_t i = 0; i < a.demands.size(); ++i) CHECK(a.demands[i].response == b.demands[i].response);
}

}  // namespace

TEST_CASE("an end that is restarted by hand gives the verdict of the fault that switches it off as long") {
    const sim::Scenario s = link();
    for (const End end : {End::controller, End::device}) {
        CAPTURE(end == End::device);
        const sim::RunResult hand = by_hand(s, sim::part_of(end));
        check_same(hand, by_fault(s, end));
        CHECK(hand.verdict == sim::RunVerdict::pass);
        REQUIRE(hand.injections.size() == 1);
        CHECK(hand.injections.front().outcome == sim::Outcome::safe_state);
        CHECK(hand.dangerous.empty());
        REQUIRE(hand.away.size() == 1);
        CHECK(hand.away.front().from == from);
        CHECK(hand.away.front().until == until);
        CHECK(hand.away.front().recorded);
        CHECK(hand.link_started);
        CHECK(hand.device.state == proto::State::running);
        for (const sim::NetworkLeg& leg : hand.network) CHECK(leg.lost + leg.doubled + leg.overtook + leg.strange == 0);
    }
}

TEST_CASE("an end that is restarted by hand twice has two faults") {
    const sim::Scenario s = link();
    tests::LiveTable table(s);
    table.restart(Part::device, Instant{} + milliseconds(1201), Instant{} + milliseconds(1400));
    table.restart(Part::device, Instant{} + milliseconds(2501), Instant{} + milliseconds(2900));
    const sim::RunResult result = judged(s, table.run());
    CHECK(result.verdict == sim::RunVerdict::pass);
    REQUIRE(result.injections.size() == 2);
    CHECK(result.injections[0].at == milliseconds(1201));
    CHECK(result.injections[1].at == milliseconds(2501));
    CHECK(result.away.size() == 2);
}

TEST_CASE("a demand while the end that reads it is away is one of the run") {
    sim::Scenario s = link();
    const End reads = s.safeguards.front().at;
    s.demands.front().at = milliseconds(1700);
    const sim::RunResult hand = by_hand(s, sim::part_of(reads));
    check_same(hand, by_fault(s, reads));
    CHECK(hand.demands.size() == 1);
}

TEST_CASE("what people had begun to do after an event they go on with, though the end was restarted meanwhile") {
    // a latched guard is reset a while after the link ran: it is restarted before that, and a demand follows
    sim::Scenario s = link();
    s.safeguards.front().latched = true;
    using Act = sim::OperatorAct;
    for (const auto event : {Act::Event::link_running, Act::Event::acknowledgement_requested})
        for (const auto what : {Act::Act::reset, Act::Act::start_machine}) {
            Act act;
            act.event = event;
            act.act = what;
            act.after = milliseconds(what == Act::Act::reset ? 1300 : 1350);
            act.safeguard = s.safeguards.front().name;
            s.operator_acts.push_back(act);
        }
    s.demands = {
        {.safeguard = s.safeguards.front().name, .at = milliseconds(700), .lasting = milliseconds(200), .where = {}},
        {.safeguard = s.safeguards.front().name, .at = milliseconds(4200), .lasting = milliseconds(200), .where = {}}};
    for (const End end : {End::controller, End::device}) {
        CAPTURE(end == End::device);
        const sim::RunResult hand = by_hand(s, sim::part_of(end));
        check_same(hand, by_fault(s, end));
        REQUIRE(hand.demands.size() == 2);
        CHECK(hand.demands.back().moved);
    }
}

TEST_CASE("a demand while the output's end is off has reached it, as in virtual time") {
    sim::Scenario s = link();
    s.demands.front().at = milliseconds(1700);
    const End output = s.machine->at;
    const sim::RunResult hand = by_hand(s, sim::part_of(output));
    const sim::RunResult alone = sim::rehearse(sim::with_restarts(s, output, {{from, until}}), 1);
    CHECK(alone.verdict == sim::RunVerdict::pass);
    CHECK(hand.verdict == sim::RunVerdict::pass);
    CHECK(hand.dangerous.empty());
}

TEST_CASE("an end that is off already, and is restarted by hand, stays off as long as it was to") {
    sim::Scenario s =
        sim::with_restarts(link(), End::device, {{Instant{} + milliseconds(1200), Instant{} + milliseconds(3200)}});
    tests::LiveTable table(s);
    table.restart(Part::device, Instant{} + milliseconds(1600), Instant{} + milliseconds(1900));
    const sim::PartRecords records = table.run();
    for (const sim::Event& event : records[static_cast<std::size_t>(Part::device)].log.events) {
        const bool sends =
            std::holds_alternative<sim::LoggedSending>(event) || std::holds_alternative<sim::LoggedParameter>(event);
        const Instant at = sim::time_of(event);
        if (sends) CHECK((at < Instant{} + milliseconds(1200) || at >= Instant{} + milliseconds(3200)));
    }
}

TEST_CASE("a slow link's telegrams wait for seconds, and are none the stranger for it") {
    sim::Scenario s = tests::polled_link();
    s.duration = seconds(90);
    for (sim::TypedEnd* const end : {&s.controller, &s.device}) {
        end->link.cycle = seconds(3);
        end->link.scan = milliseconds(end == &s.device ? 2600 : 3000);
        end->link.watchdog = end->link.peer_watchdog = seconds(9);
    }
    const sim::RunResult result = judged(s, tests::LiveTable(s).run());
    CHECK(result.link_started);
    for (const sim::DangerousEvent& event : result.dangerous)
        CHECK(event.why.find("accepted") == std::string::npos);  // its values may be too old for this machine
    for (const sim::NetworkLeg& leg : result.network) CHECK(leg.lost + leg.doubled + leg.overtook + leg.strange == 0);
}

TEST_CASE("offers of which nobody wrote down that they were sent show that a record is lost, whatever the clocks say") {
    sim::Scenario s = link();
    sim::PartRecords parts = tests::LiveTable(s).run();
    // of the device nothing before 1.2 s is left, on a clock that goes on
    std::erase_if(parts[static_cast<std::size_t>(Part::device)].log.events,
                  [](const auto& e) { return sim::time_of(e) < Instant{} + milliseconds(1200); });
    const auto joined = sim::join(s, 1, sim::limits_of(s), parts);
    REQUIRE(joined);
    REQUIRE(joined->away.size() == 1);
    CHECK(joined->away.front().part == Part::device);
    CHECK_FALSE(joined->away.front().recorded);
    CHECK(joined->away.front().until > Instant{} + milliseconds(1100));
    CHECK(joined->away.front().until < Instant{} + milliseconds(1300));
}

TEST_CASE("telegrams that come bent for a while are no lost record") {
    sim::Scenario s = tests::polled_link();
    s.duration = seconds(3);
    sim::PartRecords parts = tests::LiveTable(s).run();
    std::size_t offers = 0;
    for (sim::Event& event : parts[static_cast<std::size_t>(Part::channel)].log.events)
        if (auto* offer = std::get_if<sim::LoggedOffer>(&event);
            offer != nullptr && offer->way == sim::Direction::to_controller && ++offers >= 60 && offers < 90)
            offer->identity ^= 1;
    REQUIRE(offers > 150);
    const auto joined = sim::join(s, 1, sim::limits_of(s), parts);
    REQUIRE(joined);
    CHECK(joined->away.empty());
    CHECK(joined->network[2].strange == 30);
}

TEST_CASE("over a channel that was away nothing is wrong, and it is told") {
    const sim::Scenario s = link();
    tests::LiveTable table(s);
    table.restart(Part::channel, from, from + seconds(1));
    const sim::PartRecords records = table.run();
    const sim::RunResult result = judged(s, records);
    CHECK(result.dangerous.empty());
    REQUIRE(result.away.size() == 1);
    CHECK(result.away.front().part == Part::channel);
    CHECK(result.device.state == proto::State::running);
    std::uint64_t sent = 0;
    for (const sim::NetworkLeg& leg : result.network) {
        CHECK(leg.lost + leg.doubled + leg.overtook + leg.strange == 0);
        sent += leg.sent;
    }
    CHECK(sent > 1000);
}

TEST_CASE("a leg on which nothing but the first few came through has lost the rest") {
    sim::PartRecords parts;
    auto& sent = parts[static_cast<std::size_t>(Part::device)].log.events;
    auto& offered = parts[static_cast<std::size_t>(Part::channel)].log.events;
    const auto at = [](int n) { return Instant{} + milliseconds(10) * n; };
    for (int n = 0; n < 5; ++n) sent.emplace_back(sim::LoggedParameter{sim::Direction::to_controller, 7, 0, at(n)});
    for (int n = 5; n < 105; ++n)
        sent.emplace_back(
            sim::LoggedSending{sim::Direction::to_controller, 1000U + static_cast<unsigned>(n), 0, at(n)});
    for (const int arrived : {3, 0}) {
        CAPTURE(arrived);
        offered.clear();
        for (int n = 0; n < arrived; ++n)
            offered.emplace_back(
                sim::LoggedOffer{sim::Direction::to_controller, 7, 1U + static_cast<unsigned>(n), 20, at(n)});
        const auto legs = sim::network_counts(parts, {0, 0, 0}, Instant{} + seconds(10));
        REQUIRE(legs.size() == 4);
        CHECK(legs[2].sent >= 100);
        CHECK(legs[2].lost >= 100);
        CHECK(legs[2].lost <= 105);
    }
}

TEST_CASE("what the network loses, doubles, bends and lets overtake is counted leg by leg") {
    sim::Scenario s = tests::polled_link();
    s.duration = seconds(3);
    const sim::PartRecords whole = tests::LiveTable(s).run();
    const auto count = [&](const sim::PartRecords& parts) {
        const auto result = sim::join(s, 1, sim::limits_of(s), parts);
        REQUIRE(result);
        REQUIRE(result->network.size() == 4);
        return result->network;
    };
    const auto before = count(whole);
    for (const sim::NetworkLeg& leg : before) {
        CHECK(leg.sent > 100);
        CHECK(leg.lost + leg.doubled + leg.overtook + leg.strange == 0);
    }
    // at the device: arrivals 100 and 200 lost, 300 doubled, 400 bent, 501 before 500
    sim::PartRecords bent = whole;
    auto& events = bent[static_cast<std::size_t>(Part::device)].log.events;
    std::vector<std::size_t> arrivals;
    for (std::size_t i = 0; i < events.size(); ++i)
        if (std::holds_alternative<sim::LoggedArrival>(events[i])) arrivals.push_back(i);
    REQUIRE(arrivals.size() > 150);
    const auto arrival = [&](std::size_t n) -> sim::LoggedArrival& {
        return std::get<sim::LoggedArrival>(events[arrivals[n]]);
    };
    std::swap(arrival(90).identity, arrival(91).identity);
    arrival(80).identity ^= 1;
    const sim::Event again = events[arrivals[60]];
    events.insert(events.begin() + static_cast<std::ptrdiff_t>(arrivals[60]), again);
    events.erase(events.begin() + static_cast<std::ptrdiff_t>(arrivals[40]));
    const auto after = count(bent);
    CHECK(after[1].sent == before[1].sent);
    CHECK(after[1].lost == 2);  // one never arrived, one arrived as another
    CHECK(after[1].doubled == 1);
    CHECK(after[1].strange == 1);
    CHECK(after[1].overtook == 1);
    for (const std::size_t other : {0U, 2U, 3U}) {
        CHECK(after[other].lost + after[other].doubled + after[other].overtook + after[other].strange == 0);
        CHECK(after[other].sent == before[other].sent);
    }
}
