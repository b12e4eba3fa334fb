// The cross-check of the two ends, and the bounds it compares with what is required.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "proto/parameters.hpp"
#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/studies/cross_check.hpp"
#include "sim/timing/bounds.hpp"
#include "tests/support/scenarios.hpp"

using proto::milliseconds;

namespace {

sim::Scenario shipped(const std::string& name) {
    const auto read = sim::read_scenario(std::string(LINKDRILL_SOURCE_DIR "/scenarios/") + name);
    REQUIRE_MESSAGE(read.ok(), (read.ok() ? "" : read.error().one_line()));
    return read.value();
}

sim::Scenario press() { return shipped("veneer_press/all_errors.toml"); }

bool any_has(const std::vector<std::string>& sentences, const std::string& part) {
    return std::ranges::any_of(sentences,
                               [&](const std::string& sentence) { return sentence.find(part) != std::string::npos; });
}

/// The only difference after an edit of the press.
template <class Edit>
sim::Difference only_difference(Edit edit) {
    sim::Scenario s = press();
    edit(s);
    const sim::CrossCheck result = sim::cross_check(s);
    CHECK_FALSE(result.ok());
    CHECK_FALSE(result.signature.has_value());
    REQUIRE(result.differences.size() == 1);
    return result.differences[0];
}

}  // namespace

TEST_CASE("ends that agree have one signature") {
    const sim::Scenario s = press();
    const sim::CrossCheck result = sim::cross_check(s);
    CHECK(result.ok());
    CHECK(result.compared == 13);  // eleven settings, and one bit on each way
    CHECK(result.signature == proto::signature_of(proto::parameters_of(s.device.link)));
    CHECK(any_has(result.cautions,
                  "a round trip of up to 35 ms runs wherever the scans fall (watchdog 45 ms less the cycle of 10 ms)"));
}

TEST_CASE("four settings differ and are told in the order of their refusal") {
    const sim::CrossCheck result = sim::cross_check(shipped("glass_table/four_settings_differ.toml"));
    REQUIRE(result.differences.size() == 4);
    CHECK(result.differences[0].setting == "telegram profile");
    CHECK(result.differences[0].controller == "crc24_implied");
    CHECK(result.differences[0].device == "crc32_carried");
    CHECK(result.differences[1].setting == "address of table I/O");
    CHECK(result.differences[1].controller == "0x0021 (33)");
    CHECK(result.differences[0].mend == "table controller: crc32_carried, as [link] has it");
    CHECK(result.differences[0].mend_at == sim::MendAt::controller);
    // nothing says which address was meant
    CHECK(result.differences[1].mend == "see the design which is meant, 0x0021 (33) or 0x0012 (18)");
    CHECK(result.differences[1].mend_at == sim::MendAt::design);
    CHECK(result.differences[2].setting == "watchdog");
    CHECK(result.differences[2].seen_at_device == "Start refused: watchdog differs, here 80 ms, sent 60 ms");
    CHECK(result.differences[2].seen_at_controller == "The other end refuses the parameters: watchdog");
    CHECK(result.differences[2].mend == "table I/O: 60 ms, as [link] has it");
    CHECK(result.differences[3].setting == "byte 0, bits 2 and 3, to table I/O");
    CHECK(
        result.differences[3].mend.starts_with("table I/O: front_curtain_free = 0.2, rope_pull_free = 0.3, as [bits]"));
    CHECK(result.differences[3].controller == "front_curtain_free, rope_pull_free");
    CHECK(result.differences[3].device == "rope_pull_free, front_curtain_free");
    CHECK(result.differences[3].seen_at_controller == "Running");
    CHECK(result.differences[3].seen_at_device == "Running");
    CHECK_FALSE(result.signature.has_value());
}

TEST_CASE("every setting under the signature is compared, and named as the link names it") {
    using proto::Refusal;
    struct Row {
        Refusal refusal;
        const char* setting;
        void (*edit)(sim::Scenario&);
    };
    const Row rows[] = {
        {Refusal::profile, "telegram profile", [](sim::Scenario& s) { s.device.link.profile.zero_as_one = true; }},
        {Refusal::controller_address, "address of press controller",
         [](sim::Scenario& s) { s.device.link.peer_address = 9; }},
        {Refusal::device_address, "address of press I/O", [](sim::Scenario& s) { s.controller.link.peer_address = 9; }},
        {Refusal::exchange, "exchange", [](sim::Scenario& s) { s.device.link.exchange = proto::Exchange::streaming; }},
        {Refusal::cycle, "cycle", [](sim::Scenario& s) { s.device.link.cycle = milliseconds(20); }},
        {Refusal::byte_order, "byte order",
         [](sim::Scenario& s) { s.device.link.byte_order = proto::ByteOrder::low_first; }},
        {Refusal::watchdog_device, "watchdog of press I/O",
         [](sim::Scenario& s) { s.device.link.watchdog = milliseconds(60); }},
        {Refusal::watchdog_controller, "watchdog of press controller",
         [](sim::Scenario& s) { s.device.link.peer_watchdog = milliseconds(60); }},
        {Refusal::missing_allowed, "missing telegrams allowed",
         [](sim::Scenario& s) { s.device.link.missing_allowed = 1; }},
        {Refusal::claimed_level, "claimed safety integrity level",
         [](sim::Scenario& s) { s.device.link.claimed_level = 2; }},
        {Refusal::payload_to_device, "payload to press I/O",
         [](sim::Scenario& s) { s.device.link.payload_received = 4; }},
        {Refusal::payload_to_controller, "payload to press controller",
         [](sim::Scenario& s) { s.device.link.payload_sent = 4; }},
    };
    for (const Row& row : rows) {
        CAPTURE(row.setting);
        const sim::Difference d = only_difference(row.edit);
        CHECK(d.setting == row.setting);
        CHECK(d.controller != d.device);
        CHECK(d.seen_at_device.find("Start refused: ") == 0);
        // The link itself refuses the same setting.
        sim::Scenario s = press();
        row.edit(s);
        CHECK(proto::first_difference(proto::parameters_of(s.controller.link), proto::parameters_of(s.device.link)) ==
              row.refusal);
    }
}

TEST_CASE("a bit in use at one end only is refused by the link") {
    const sim::Difference d = only_difference([](sim::Scenario& s) {
        s.device.bits[1].place = {0, 5};
        s.device.link.bits_received[0] = 1U << 5;
    });
    CHECK(d.setting == "byte 0, bits 0 and 5, to press I/O");
    CHECK(d.controller == "closing_allowed, not in use");
    CHECK(d.device == "not in use, closing_allowed");
    CHECK(d.seen_at_controller == "The other end refuses the parameters: bits in use to press I/O");
}

TEST_CASE("two profiles of one content are one profile") {
    sim::Scenario s = press();
    s.device.link.profile.name = "a copy of it";
    CHECK(sim::cross_check(s).ok());
    s.device.link.profile.name = s.controller.link.profile.name;
    s.device.link.profile.zero_as_one = true;
    const sim::CrossCheck result = sim::cross_check(s);
    REQUIRE(result.differences.size() == 1);
    CHECK(result.differences[0].controller.find("crc32_carried (identity 0x") == 0);
}

TEST_CASE("settings of one end alone are no differences, but are mentioned") {
    sim::Scenario s = press();
    s.device.link.reaction = proto::Reaction::discard;
    sim::CrossCheck result = sim::cross_check(s);
    CHECK(result.ok());
    CHECK(any_has(result.cautions, "the reaction to a rejected telegram is trip at once at press controller"));
    s.controller.link.reaction = proto::Reaction::discard;
    s.device.link.error_interval = proto::seconds(60);
    result = sim::cross_check(s);
    CHECK(result.ok());
    CHECK(any_has(result.cautions, "the error interval is 6 min at press controller and 1 min at press I/O"));
}

TEST_CASE("demands of one guard that overlap are told, once for each guard") {
    sim::Scenario s = press();
    const std::string guard = s.safeguards[0].name;
    const auto overlaps = [&](std::vector<sim::Demand> demands) {
        s.demands = std::move(demands);
        std::vector<std::string> found;
        for (const std::string& caution : sim::cross_check(s).cautions)
            if (caution.find("two demands of ") == 0) found.push_back(caution);
        return found;
    };
    const auto second = proto::seconds(1);
    CHECK(overlaps({{guard, second, second, {}}, {guard, second * 2, second, {}}}).empty());
    const auto one = overlaps({{guard, second * 2, second, {}}, {guard, second, second * 2, {}}});
    REQUIRE(one.size() == 1);
    CHECK(one[0] == "two demands of " + guard +
                        " overlap: from 1 s for 2 s, and from 2 s for 1 s; to the machine they "
                        "are one, and only the first shows anything");
    const auto three =
        overlaps({{guard, second, second * 9, {}}, {guard, second * 2, second, {}}, {guard, second * 4, second, {}}});
    REQUIRE(three.size() == 1);
    CHECK(three[0].find(", and 1 more; ") != std::string::npos);
    // contacts a and b of one guard are two things
    sim::Demand a{guard, second, second, {}, sim::DemandChannel::a},
        b{guard, second, second, {}, sim::DemandChannel::b};
    CHECK(overlaps({a, b}).empty());
    CHECK(overlaps({a, {guard, second, second, {}}}).size() == 1);
}

TEST_CASE("a watchdog too long for what is required is a problem") {
    sim::Scenario s = press();
    s.required.to_device = milliseconds(91);  // 2 * 45 + 2 = 92
    const sim::CrossCheck result = sim::cross_check(s);
    CHECK_FALSE(result.ok());
    CHECK(any_has(result.problems, "what goes to press I/O may take 92 ms to its output, but 91 ms is required"));
    s.required.to_device = milliseconds(92);
    CHECK(sim::cross_check(s).ok());
}

TEST_CASE("a channel slower than the longest round trip is told") {
    sim::Scenario s = press();
    s.to_device.delay = {
        .kind = sim::DelayShape::Kind::uniform, .low = milliseconds(1), .high = milliseconds(40), .cells = {}};
    CHECK(any_has(sim::cross_check(s).cautions, "expect stops for nothing"));
    // over the watchdog less a cycle, but four cycles may do if the scans fall well
    s.to_device.delay.low = milliseconds(36);
    CHECK(any_has(sim::cross_check(s).cautions, "expect stops for nothing"));
    CHECK_FALSE(any_has(sim::cross_check(s).problems, "can never run"));
    s.to_device.delay.low = milliseconds(40);
    const sim::CrossCheck never = sim::cross_check(s);
    CHECK(any_has(never.problems,
                  "the link can never run: the watchdog, 45 ms, is shorter than what one exchange takes, 50 ms"));
    CHECK(any_has(never.problems, "write 50 ms or more"));
    CHECK_FALSE(any_has(never.cautions, "expect stops for nothing"));
}

TEST_CASE("a stream whose age nothing measures is told to rest on the declared delay") {
    sim::Scenario s = tests::streaming_link();
    s.declared_delay = milliseconds(5);
    CHECK(any_has(sim::cross_check(s).cautions, "a delay that creeps is seen by nothing in this stream"));
    s = tests::streaming_link(tests::Carries::feedback);
    s.declared_delay = milliseconds(5);
    CHECK_FALSE(any_has(sim::cross_check(s).cautions, "a delay that creeps"));
}

TEST_CASE("what a streaming link without a measured age cannot see") {
    sim::Scenario s = shipped("stage_lift/streaming_errors.toml");
    CHECK_FALSE(any_has(sim::cross_check(s).undetectable, "delay that grows slowly"));
    s.controller.link.max_lag = s.device.link.max_lag = std::nullopt;
    const sim::CrossCheck result = sim::cross_check(s);
    CHECK(any_has(result.undetectable, "delay that grows slowly"));
    CHECK(any_has(result.undetectable, "a step of delay below 80 ms"));
    CHECK(any_has(result.cautions, "no bound exists for values to " + s.controller.name));
    CHECK_FALSE(sim::bound_of(s, sim::Direction::to_device).has_value());
}

TEST_CASE("a demand that goes over the other end of a streaming link adds both bounds") {
    sim::Scenario s = shipped("stage_lift/streaming_errors.toml");
    CHECK(sim::bound_of(s, sim::Direction::to_controller) == milliseconds(280));  // 7 * 20 + 100 + 2 * 20
    CHECK(sim::over_other_end_bound_of(s, sim::Direction::to_controller) == milliseconds(580));
    CHECK(sim::cross_check(s).ok());
    s.safeguards[0].at = proto::End::controller;
    CHECK(any_has(sim::cross_check(s).problems, "may take 580 ms to its output, but 320 ms is required"));
}

TEST_CASE("implied bits beyond the width of the CRC are a caution") {
    sim::Scenario s = shipped("glass_table/implied_addresses.toml");
    CHECK_FALSE(any_has(sim::cross_check(s).cautions, "bits are implied"));  // 2 * 12 fit 24
    for (sim::TypedEnd* end : {&s.controller, &s.device}) end->link.profile.address.bits = 13;
    CHECK(any_has(sim::cross_check(s).cautions, "26 bits are implied, but the CRC has only 24"));
}

TEST_CASE("a demand that may vanish between two exchanges is a caution") {
    sim::Scenario s = press();
    CHECK_FALSE(any_has(sim::cross_check(s).cautions, "vanish"));
    s.safeguards[0].minimum_hold = milliseconds(46);
    CHECK(any_has(sim::cross_check(s).cautions, "front_curtain is held for 46 ms only; under 47 ms"));
}

TEST_CASE("bounds") {
    // IEC 62541-15, 8.2: response of a connection at most twice the watchdog and the consumer's cycle; 28 ms and 10 ms
    // give 66 ms, 38 ms give 86 ms.
    CHECK(sim::polled_bound({milliseconds(28), milliseconds(10), {}}) == milliseconds(66));
    CHECK(sim::polled_bound({milliseconds(38), milliseconds(10), {}}) == milliseconds(86));
    CHECK(sim::polled_bound({milliseconds(38), milliseconds(10), milliseconds(5)}) == milliseconds(91));
    CHECK(sim::polled_over_controller_bound({milliseconds(45), milliseconds(2), {}}, milliseconds(2)) ==
          milliseconds(94));
    const sim::StreamingPath path{
        milliseconds(4), milliseconds(1), milliseconds(20), {milliseconds(100), milliseconds(10), {}}};
    CHECK(sim::streaming_loss_bound(path) == milliseconds(124));
    CHECK(sim::streaming_bound(path) == milliseconds(8 - 1 + 30 + 200 - 20));
    CHECK(sim::longest_round_trip(milliseconds(45), milliseconds(10)) == milliseconds(35));
    const sim::CablePulled pulled =
        sim::cable_pulled_bounds({milliseconds(45), milliseconds(10), {}}, milliseconds(1), milliseconds(12));
    CHECK(pulled.at_least == milliseconds(33));
    CHECK(pulled.at_most == milliseconds(66));
    CHECK(sim::cable_pulled_bounds({milliseconds(5), milliseconds(1), {}}, {}, milliseconds(9)).at_least ==
          proto::Duration{});
    // Cells without weight never happen.
    const sim::DelayShape shape{
        .kind = sim::DelayShape::Kind::histogram,
        .low = {},
        .high = {},
        .cells = {{milliseconds(1), milliseconds(2), 3}, {milliseconds(0), milliseconds(9), 0}}};
    CHECK(sim::longest_of(shape) == milliseconds(2));
    CHECK(sim::shortest_of(shape) == milliseconds(1));
}

TEST_CASE("where [required] is silent the functions say what is left for the link to the machine") {
    sim::Scenario s = press();
    s.required = {};
    s.functions.clear();
    CHECK(any_has(sim::cross_check(s).cautions, "which a mistyped watchdog lengthens; write required.to_device"));
    const std::string guard = s.safeguards.front().name;
    s.functions.push_back({.name = "press stops",
                           .safeguards = {guard},
                           .must = {{.machine = s.machine->name,
                                     .must = s.machine->reactions.front().stop,
                                     .within = proto::seconds(2),
                                     .where = {}}},
                           .level = {},
                           .distance = {},
                           .where = {}});
    CHECK(any_has(sim::cross_check(s).cautions, "\"press stops\" leaves the least for it, "));
    CHECK_FALSE(any_has(sim::cross_check(s).cautions, "write required.to_device"));
}
