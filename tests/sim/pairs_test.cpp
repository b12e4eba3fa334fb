// Signals sent on two bits, the second the complement of the first: what the receiver makes of them, what a stopped
// link makes of them, and what the observer says.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "sim/drive/rehearsal.hpp"
#include "sim/judge/time_line.hpp"
#include "sim/plant/pairs.hpp"
#include "sim/plant/plant.hpp"
#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/studies/cross_check.hpp"
#include "sim/studies/function_check.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::End;
using proto::Instant;
using proto::milliseconds;
using proto::seconds;
using sim::Met;
using sim::RunVerdict;
using Act = sim::OperatorAct;

constexpr std::uint64_t bit(unsigned i) { return std::uint64_t{1} << i; }
constexpr unsigned closed = 0, selector = 2, inverse = 3;  // signals
constexpr std::uint64_t proper_1 = bit(closed), proper_0 = bit(inverse), ones = bit(closed) | bit(inverse);

Instant at(std::int64_t ms) { return Instant{} + milliseconds(ms); }

/// The log debarker; "closed" goes over two bits.
sim::Scenario with_pair() {
    auto read = sim::read_scenario(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/log_debarker/guards.toml");
    REQUIRE(read.ok());
    sim::Scenario s = std::move(read).value();
    sim::Signal second;
    second.name = "closed_inverse";
    second.direction = sim::Direction::to_device;
    second.inverse_of = "closed";
    second.discrepancy = milliseconds(50);
    s.signals.push_back(second);
    for (sim::TypedEnd* end : {&s.controller, &s.device}) end->bits.push_back({second.name, {0, 3}, {}});
    tests::use_typed_bits(s);
    return s;
}

/// No demand, no fault; the operator acknowledges, and starts the machine once the link runs.
sim::Scenario at_rest() {
    sim::Scenario s = with_pair();
    s.faults.clear();
    s.demands.clear();
    s.operator_acts.erase(std::remove_if(s.operator_acts.begin(), s.operator_acts.end(),
                                         [](const Act& act) { return act.event == Act::Event::time; }),
                          s.operator_acts.end());
    s.duration = seconds(6);
    return s;
}

/// Two bits have changed places at the device.
void exchange_at_device(sim::Scenario& s, unsigned a, unsigned b) {
    std::swap(s.device.bits[a].place, s.device.bits[b].place);
    tests::use_typed_bits(s);
}

std::uint64_t used_at(const sim::TimeLine& line, Instant when) {
    std::uint64_t used = 0;
    for (const auto& change : line.signals(End::device))
        if (change.at <= when) used = change.used;
    return used;
}

bool says(const sim::RunResult& result, const std::string& words) {
    return std::any_of(result.dangerous.begin(), result.dangerous.end(),
                       [&](const sim::DangerousEvent& event) { return event.why.find(words) != std::string::npos; });
}

bool any_has(const std::vector<std::string>& all, const std::string& words) {
    return std::any_of(all.begin(), all.end(),
                       [&](const std::string& one) { return one.find(words) != std::string::npos; });
}

/// The pair at its receiver, beside a plant whose guards are free.
struct Reader {
    sim::Scenario scenario = with_pair();
    sim::Plant plant{scenario};
    sim::Pairs pairs{scenario, End::device};
    /// The pair counts as 1.
    bool reads(std::uint64_t received, std::int64_t ms, bool running = true) {
        const std::uint64_t used = pairs.used(received, running, plant, at(ms));
        CHECK((used & bit(inverse)) == (received & bit(inverse)));
        return (used & bit(closed)) != 0;
    }
    void reset(std::int64_t ms) { plant.reset(0, sim::Plant::ResetAct::press_and_let_go, at(ms)); }
};

TEST_CASE("the second bit of a pair is sent as the complement of the first, also of one that falls late") {
    const sim::Scenario s = with_pair();
    const sim::Pairs sender(s, End::controller), receiver(s, End::device);
    CHECK(sender.any());
    CHECK(sender.sent(bit(closed)) == bit(closed));
    CHECK(sender.sent(0) == bit(inverse));
    CHECK(sender.sent(ones) == bit(closed));
    CHECK(receiver.sent(bit(closed) | bit(inverse)) == ones);  // not its to send
    CHECK(sender.proper(ones) == ones);
    CHECK(receiver.proper(ones) == bit(inverse));
}

TEST_CASE("a pair is 1 only by a 1 and a 0, at once, and latches after its discrepancy time") {
    for (const std::uint64_t equal : {std::uint64_t{0}, ones}) {
        CAPTURE(equal);
        Reader r;
        CHECK(r.reads(proper_1, 0));
        CHECK_FALSE(r.reads(proper_0, 10));
        CHECK(r.reads(proper_1, 20));
        CHECK_FALSE(r.reads(equal, 100));  // 0 at once
        CHECK(r.pairs.next() == at(150));
        CHECK_FALSE(r.reads(equal, 149));
        CHECK(r.reads(proper_1, 149));  // tolerated
        CHECK(r.pairs.next() == proto::never);
        CHECK_FALSE(r.reads(equal, 200));
        CHECK_FALSE(r.reads(equal, 250));
        CHECK(r.pairs.next() == proto::never);
        CHECK_FALSE(r.reads(proper_1, 260));  // latched
        CHECK_FALSE(r.reads(proper_0, 270));
        CHECK_FALSE(r.reads(proper_1, 9000));
    }
}

TEST_CASE("a latched pair takes a reset of a guard that feeds it, while its bits say 1") {
    Reader r;
    CHECK(r.reads(proper_1, 0));
    CHECK_FALSE(r.reads(ones, 100));
    CHECK_FALSE(r.reads(ones, 150));
    r.reset(160);
    CHECK_FALSE(r.reads(ones, 160));  // the bits are still equal
    CHECK_FALSE(r.reads(proper_1, 170));
    r.reset(180);
    CHECK_FALSE(r.reads(proper_0, 180));  // nor while they say 0
    CHECK_FALSE(r.reads(proper_1, 190));
    r.plant.reset(2, sim::Plant::ResetAct::press_and_let_go, at(200));  // the cord feeds another signal
    CHECK_FALSE(r.reads(proper_1, 200));
    r.plant.demand(1, sim::DemandChannel::both, at(210));
    r.plant.reset(1, sim::Plant::ResetAct::press_and_let_go, at(220));  // demanded: resets nothing
    CHECK_FALSE(r.reads(proper_1, 220));
    r.reset(230);
    CHECK(r.reads(proper_1, 230));
    r.pairs.begin_again();
    CHECK(r.reads(proper_1, 240));
}

TEST_CASE("substitute values are no discrepancy: of a link that stands still, and of a sender that does not run yet") {
    Reader r;
    CHECK_FALSE(r.reads(0, 0, false));
    CHECK_FALSE(r.reads(0, 1000));  // it runs; the sender does not yet
    CHECK(r.pairs.next() == proto::never);
    CHECK_FALSE(r.reads(0, 2000));
    CHECK(r.reads(proper_1, 2010));
    CHECK_FALSE(r.reads(0, 3000, false));
    CHECK_FALSE(r.reads(0, 4000, false));
    CHECK_FALSE(r.reads(0, 4100));
    CHECK_FALSE(r.reads(0, 4500));
    CHECK(r.reads(proper_1, 4510));
    // two ones are nobody's substitute values
    CHECK_FALSE(r.reads(0, 5000, false));
    CHECK_FALSE(r.reads(ones, 5100));
    CHECK_FALSE(r.reads(ones, 5150));
    CHECK_FALSE(r.reads(proper_1, 5160));
    // a stop in between does not mend what was found
    CHECK_FALSE(r.reads(0, 5200, false));
    CHECK_FALSE(r.reads(proper_1, 5300));
}

TEST_CASE("a plant with a pair passes as without, and each guard's row is that of the pair") {
    sim::Scenario s = with_pair();
    s.signals.back().discrepancy = milliseconds(10);  // as short as an exchange: starts and the pulled cable matter
    sim::TimeLine line(s);
    const sim::RunResult result = sim::rehearse(s, 11, {.line = &line});
    CHECK(result.verdict == RunVerdict::pass);
    REQUIRE(result.demands.size() == 4);
    REQUIRE(result.demands[0].hops.size() == 1);
    CHECK(result.demands[0].hops[0].signal == closed);
    CHECK(result.demands[0].hops[0].received.has_value());
    for (const sim::FunctionResult& function : result.functions) CHECK(function.met == Met::yes);
    // the flap is open at 2.5 s; both bits at both ends
    CHECK((used_at(line, at(1900)) & ones) == proper_1);
    CHECK((used_at(line, at(2500)) & ones) == proper_0);
    CHECK((used_at(line, at(3500)) & ones) == proper_1);
    CHECK((used_at(line, at(19'200)) & ones) == 0);         // the cable is pulled
    CHECK((used_at(line, at(23'900)) & ones) == proper_1);  // and was put back: no reset
    const auto& computed = line.computed(End::controller);
    CHECK(std::all_of(computed.begin(), computed.end(), [](const auto& change) {
        return (change.used & ones) == proper_1 || (change.used & ones) == proper_0;
    }));
}

TEST_CASE("bits that a wrong place makes equal are 0, latched, and taken back only by a reset") {
    sim::Scenario s = at_rest();
    exchange_at_device(s, inverse, selector);  // reads 1 and 1; while the selector is off, 1 and 0
    s.demands = {{"speed_selector", seconds(2), seconds(1), {}}, {"speed_selector", seconds(4), seconds(1), {}}};
    s.operator_acts.push_back({Act::Event::time, Act::Act::reset, milliseconds(4500), {}, "pit_door"});
    sim::TimeLine line(s);
    const sim::RunResult result = sim::rehearse(s, 11, {.line = &line});
    CHECK((used_at(line, at(1900)) & bit(closed)) == 0);
    CHECK((used_at(line, at(2500)) & bit(closed)) == 0);  // its bits say 1, and it is latched
    CHECK((used_at(line, at(4400)) & bit(closed)) == 0);
    CHECK((used_at(line, at(4600)) & bit(closed)) != 0);
    CHECK((used_at(line, at(5500)) & bit(closed)) == 0);
    // a pair that counts as 0 is no danger; the selector's signal is, which nothing guards
    CHECK(says(result, "a signal does not mean what it means at its source: full_speed_allowed"));
    CHECK_FALSE(says(result, "closed"));
}

TEST_CASE("with a discrepancy time that is not over, the pair needs no reset") {
    sim::Scenario s = at_rest();
    s.signals.back().discrepancy = seconds(60);
    exchange_at_device(s, inverse, selector);
    s.demands = {{"speed_selector", seconds(2), seconds(1), {}}};
    sim::TimeLine line(s);
    sim::rehearse(s, 11, {.line = &line});
    CHECK((used_at(line, at(1900)) & bit(closed)) == 0);
    CHECK((used_at(line, at(2500)) & bit(closed)) != 0);
    CHECK((used_at(line, at(3500)) & bit(closed)) == 0);
}

TEST_CASE("a discrepancy is over by its time, whether a telegram comes or not") {
    sim::Scenario s = at_rest();
    s.signals.back().discrepancy = milliseconds(1500);
    exchange_at_device(s, inverse, selector);
    s.demands = {{"speed_selector", seconds(1), seconds(1), {}}, {"speed_selector", seconds(4), seconds(1), {}}};
    sim::TimeLine line(s);
    sim::rehearse(s, 11, {.line = &line});
    CHECK((used_at(line, at(1500)) & bit(closed)) != 0);  // equal for less than a second so far
    CHECK((used_at(line, at(4500)) & bit(closed)) == 0);  // and then for two, in which no bit turned
}

TEST_CASE("R-85: the two bits of a pair exchanged turn its meaning round, and check tells them") {
    sim::Scenario s = at_rest();
    exchange_at_device(s, closed, inverse);
    s.demands = {{"flap", seconds(2), seconds(1), {}}};
    const sim::RunResult result = sim::rehearse(s, 11);
    CHECK(result.verdict == RunVerdict::dangerous);
    CHECK(says(result, "a signal does not mean what it means at its source: closed"));
    const sim::CrossCheck check = sim::cross_check(s);
    REQUIRE(check.differences.size() == 1);
    CHECK(check.differences[0].setting == "byte 0, bits 0 and 3, to roller drive");
    CHECK(check.differences[0].controller.find("closed_inverse") != std::string::npos);
}

TEST_CASE("frozen data behind a pair is as dangerous as without") {
    sim::Scenario s = at_rest();
    sim::Fault frozen = tests::fault_of(sim::FaultWay::frozen_data, seconds(1));
    frozen.at_end = End::controller;
    s.faults = {frozen};
    s.demands = {{"flap", seconds(2), seconds(1), {}}};
    const sim::RunResult result = sim::rehearse(s, 11);
    CHECK(result.verdict == RunVerdict::dangerous);
    CHECK(says(result, "does not mean what it means at its source: closed"));
    CHECK_FALSE(says(result, "closed_inverse"));
}

TEST_CASE("check: the pair uses its second bit, and a discrepancy shorter than a cycle is a caution") {
    sim::Scenario s = with_pair();
    CHECK_FALSE(any_has(sim::check_functions(s).cautions, "closed_inverse"));
    s.signals.back().discrepancy = milliseconds(10);
    CHECK_FALSE(any_has(sim::check_functions(s).cautions, "closed_inverse"));
    s.signals.back().discrepancy = milliseconds(9);
    CHECK(any_has(sim::check_functions(s).cautions,
                  "closed_inverse has a discrepancy of 9 ms, shorter than the cycle of 10 ms"));
}

TEST_CASE("a pair is begun anew with each run") {
    const sim::Scenario s = with_pair();
    CHECK(sim::rehearse(s, 11).digest == sim::rehearse(s, 11).digest);
}

}  // namespace
