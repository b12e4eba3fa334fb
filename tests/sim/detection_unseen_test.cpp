// Dangerous when: the cases in which an error must go unseen, since the exchange cannot see it by its settings.
#include <doctest/doctest.h>

#include <vector>

#include "proto/crc_catalogue.hpp"
#include "sim/drive/rehearsal.hpp"
#include "tests/support/detection_table.hpp"

namespace {

using proto::Exchange;
using proto::milliseconds;
using sim::Fault;
using sim::FaultWay;
using sim::Outcome;
using sim::Scenario;
using tests::Carries;
using tests::fault_of;
using tests::lasting;
using tests::detection::held;
using tests::detection::repeated;

/// How often the fault was dangerous, over the phases.
unsigned dangerous_phases(Scenario s) {
    unsigned count = 0;
    for (int phase = 0; phase < 10; ++phase) {
        s.device_phase = milliseconds(phase);
        const auto result = sim::rehearse(s, 3);
        const bool dangerous = result.injections.front().outcome == Outcome::dangerous;
        CHECK(dangerous == (result.verdict == sim::RunVerdict::dangerous));
        count += dangerous ? 1 : 0;
    }
    return count;
}

TEST_CASE("dangerous: a pattern that is a codeword of the CRC passes unseen") {
    // The pattern comes from the engine: one bit of the payload and what it does to the CRC.
    for (const Exchange exchange : {Exchange::polled, Exchange::streaming}) {
        Scenario s = exchange == Exchange::polled ? tests::polled_link() : tests::streaming_link();
        const proto::Profile& profile = s.controller.link.profile;
        const auto layout = proto::layout_of(profile, 8).value();
        const auto engine = proto::CrcEngine::make(*profile.crc).value();
        const unsigned covered = layout.header_bytes + layout.payload_bytes;
        const unsigned bit = covered * 8 - 3;
        std::vector<std::uint8_t> zeros(covered), one(covered);
        one[bit / 8] = static_cast<std::uint8_t>(0x80U >> bit % 8);
        const std::uint64_t syndrome = engine.over(one) ^ engine.over(zeros);
        Fault fault = fault_of(FaultWay::flip_bits);
        fault.bits = {bit};
        for (unsigned i = 0; i < 32; ++i)
            if ((syndrome >> (31 - i) & 1) != 0) fault.bits.push_back(covered * 8 + i);
        s.faults = {fault};
        CHECK(dangerous_phases(s) == 10);
        fault.bits.pop_back();  // one flip less, and the CRC sees it
        s.faults = {fault};
        CHECK(dangerous_phases(s) == 0);
    }
}

TEST_CASE("dangerous: an old telegram whose number fits again because the number is narrow") {
    Scenario s = tests::polled_link();
    tests::both_ends(s, [](proto::LinkSettings& link) { link.profile.sequence.bits = 2; });
    s.faults = {repeated(FaultWay::beside, 3)};  // n - 3 = n + 1 modulo 4
    CHECK(dangerous_phases(s) == 10);
    s.faults = {repeated(FaultWay::beside, 2)};
    CHECK(dangerous_phases(s) == 0);

    Scenario stream = tests::streaming_link();
    tests::both_ends(stream, [](proto::LinkSettings& link) {
        link.profile.sequence.bits = 4;
        link.missing_allowed = 2;
    });
    for (const unsigned back : {13U, 14U, 15U}) {  // n + 3, n + 2, n + 1 modulo 16
        stream.faults = {repeated(FaultWay::beside, back)};
        CHECK(dangerous_phases(stream) == 10);
    }
    stream.faults = {repeated(FaultWay::beside, 12)};
    CHECK(dangerous_phases(stream) == 0);
}

TEST_CASE("dangerous: a held telegram whose number has come round") {
    Scenario s = tests::polled_link();
    s.faults = {held(46)};
    CHECK(dangerous_phases(s) == 0);
    tests::both_ends(s, [](proto::LinkSettings& link) { link.profile.sequence.bits = 2; });
    CHECK(dangerous_phases(s) > 0);
}

TEST_CASE("dangerous: a neighbour whose implied addresses give the same CRC, or no address at all") {
    for (const bool alias : {true, false}) {
        Scenario s = tests::polled_link();
        tests::both_ends(s, [](proto::LinkSettings& link) {
            link.profile.sequence.bits = 2;
            link.profile.crc = proto::find_crc("CRC-16/IBM-3740")->spec;  // polynomial 0x1021
            link.profile.zero_as_one = false;
            link.profile.address = {proto::Presence::implied, 32};
            link.reaction = proto::Reaction::discard;
            link.error_interval = {};
        });
        s.controller.link.own_address = s.device.link.peer_address = 0x1;
        s.device.link.own_address = s.controller.link.peer_address = 0x2;
        // a difference of 0x11021 is the polynomial itself
        s.neighbour->controller_address = alias ? 0x11020 : 0x11024;
        s.neighbour->device_address = alias ? 0x11023 : 0x11027;
        s.faults = {lasting(fault_of(FaultWay::neighbour), milliseconds(300))};
        // both links count on at one pace, so the number of a start fits always or never: by lot, about one in four
        const auto dangerous_starts = [&] {
            unsigned count = 0;
            for (std::uint64_t seed = 0; seed < 24; ++seed)
                if (sim::rehearse(s, seed).verdict == sim::RunVerdict::dangerous) ++count;
            return count;
        };
        if (alias)
            CHECK(dangerous_starts() > 1);
        else
            CHECK(dangerous_starts() == 0);
        if (!alias) continue;
        tests::both_ends(s, [](proto::LinkSettings& link) { link.profile.address = {}; });
        CHECK(dangerous_starts() > 1);
    }
}

TEST_CASE("a profile that cannot tell its own direction is refused") {
    proto::LinkSettings link = tests::polled_link(Carries::no_addresses).controller.link;
    CHECK_FALSE(proto::fault_in(link).has_value());
    link.profile.direction = proto::Presence::absent;
    const auto refused = proto::fault_in(link);
    REQUIRE(refused);
    CHECK(refused->fault == proto::SettingsFault::loop_back_unseen);
}

}  // namespace
