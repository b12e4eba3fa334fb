// Passing over quiet periods. Two pairs of ends with the same random numbers and channel: one exchanges for so many
// periods, the other skips them. Whatever they do afterwards must be the same, byte for byte and counter for counter,
// with telegrams on the way and telegrams waiting at the moment of the skip, and with a disturbance afterwards.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <span>
#include <string>
#include <vector>

#include "proto/endpoint.hpp"
#include "tests/support/profiles.hpp"
#include "tests/support/two_ends.hpp"

namespace {

using proto::Duration;
using proto::End;
using proto::Endpoint;
using proto::Instant;
using proto::milliseconds;
using proto::QuietPeriod;
using proto::State;

struct Deaf final : proto::EventSink {
    std::uint64_t changes = 0;
    void concluded(proto::Token, const proto::Verdict&, Instant) override {}
    void changed(const proto::Transition&, Instant) override { ++changes; }
    void acknowledged(bool, Instant) override {}
    void refused(proto::Refusal, const proto::LinkParameters&, Instant) override {}
};

Endpoint made(const proto::LinkSettings& settings, Deaf& sink) {
    auto endpoint = Endpoint::make(settings, sink);
    REQUIRE(endpoint.ok());
    return std::move(endpoint).value();
}

/// Both ends and a channel that takes the same time for each telegram.
struct Link {
    Link(const tests::Pair& pair, Duration delay)
        : one_way(delay), ends{made(pair.controller, sinks[0]), made(pair.device, sinks[1])} {
        ends[0].start({}, {}, 11);
        ends[1].start({}, milliseconds(3), 22);
        for (std::size_t i = 0; i < 2; ++i)
            parties[i].application = [this, i](Instant) {
                std::fill(ends[i].output().begin(), ends[i].output().end(), std::uint8_t{0x5A});
            };
        loop.channel = [this](const tests::TwoEnds::Sent& telegram) {
            sent.emplace_back(telegram.bytes.begin(), telegram.bytes.end());
            if (lose > 0)
                --lose;
            else
                loop.way_to(other(telegram.sender)).put(loop.now() + one_way, telegram.bytes);
        };
    }

    Endpoint& at(End end) { return ends[static_cast<std::size_t>(end)]; }
    [[nodiscard]] Instant now() const { return loop.now(); }

    /// All before `end`: a scan or an arrival at that instant is still to come.
    void run_until(Instant end) {
        const Instant last = end - Duration{1};
        loop.run_until(last);
        loop.deliver(last);
        loop.set_now(end);
    }

    void skip(std::uint64_t periods, const std::array<QuietPeriod, 2>& period) {
        const Duration by = period[0].lasting * static_cast<std::int64_t>(periods);
        for (const End to : {End::controller, End::device})
            for (tests::Way::InFlight& each : loop.way_to(to).telegrams) {
                const std::size_t size = each.bytes.size();
                each.bytes.resize(proto::telegram_bytes_max);
                at(to).skip_on_the_way(std::span<std::uint8_t, proto::telegram_bytes_max>(each.bytes), size, periods,
                                       period[static_cast<std::size_t>(to)]);
                each.bytes.resize(size);
                each.due = each.due + by;
            }
        for (std::size_t i = 0; i < 2; ++i) ends[i].skip(periods, period[i]);
        loop.set_now(now() + by);
    }

    [[nodiscard]] std::array<std::uint64_t, 2> standing() const {
        std::array<std::uint64_t, 2> sums{};
        for (std::size_t i = 0; i < 2; ++i) {
            const auto sum = ends[i].standing(now());
            REQUIRE(sum.has_value());
            sums[i] = *sum;
            for (const tests::Way::InFlight& each : loop.way_to(static_cast<End>(i)).telegrams) {
                const auto of_one = ends[i].standing_of(each.bytes, now());
                REQUIRE(of_one.has_value());
                sums[i] = sums[i] * 31 + *of_one + static_cast<std::uint64_t>((each.due - now()).ns);
            }
        }
        return sums;
    }

    Duration one_way;
    std::array<Deaf, 2> sinks;
    std::array<Endpoint, 2> ends;
    std::array<tests::EndpointParty, 2> parties{tests::EndpointParty(ends[0]), tests::EndpointParty(ends[1])};
    tests::TwoEnds loop{parties[0], parties[1], End::device};
    std::vector<std::vector<std::uint8_t>> sent;
    unsigned lose = 0;  ///< the next telegrams
};

/// What the ends' counters grew by in a time in which everything came to stand as before.
std::array<QuietPeriod, 2> learn(Link& link, Duration lasting) {
    const std::array<proto::Counters, 2> before{link.ends[0].counters(), link.ends[1].counters()};
    const auto standing = link.standing();
    link.run_until(link.now() + lasting);
    REQUIRE(link.standing() == standing);
    std::array<QuietPeriod, 2> period;
    for (std::size_t i = 0; i < 2; ++i) {
        const proto::Counters& after = link.ends[i].counters();
        period[i] = {lasting, after.accepted - before[i].accepted, after.repeats - before[i].repeats,
                     after.sent - before[i].sent};
    }
    return period;
}

void same(const Link& a, const Link& b) {
    CHECK(a.now() == b.now());
    CHECK(a.standing() == b.standing());
    for (std::size_t i = 0; i < 2; ++i) {
        CHECK(a.ends[i].state() == b.ends[i].state());
        CHECK(a.ends[i].next_deadline() == b.ends[i].next_deadline());
        CHECK(a.ends[i].last_sign_of_life() == b.ends[i].last_sign_of_life());
        const proto::Counters& x = a.ends[i].counters();
        const proto::Counters& y = b.ends[i].counters();
        CHECK(x.received == y.received);
        CHECK(x.accepted == y.accepted);
        CHECK(x.repeats == y.repeats);
        CHECK(x.sent == y.sent);
        CHECK(x.rejected == y.rejected);
        CHECK(x.number_sent == y.number_sent);
        CHECK(x.number_received == y.number_received);
        CHECK(a.ends[i].input_revision() == b.ends[i].input_revision());
    }
}

struct Case {
    std::string name;
    tests::Pair pair;
};

std::vector<Case> cases() {
    std::vector<Case> all;
    for (const proto::Profile& profile : tests::profiles_like_shipped()) {
        all.push_back({"polled " + profile.name, tests::polled_pair(profile)});
        all.push_back({"streaming " + profile.name, tests::streaming_pair(profile)});
    }
    all.push_back({"polled, numbers of 2 bits", tests::polled_pair(tests::plain_profile(2))});
    all.push_back({"polled, pairs of bytes exchanged", tests::polled_pair().both([](proto::LinkSettings& s) {
                       s.byte_order = proto::ByteOrder::low_first;
                   })});
    all.push_back({"streaming, fed-back numbers", tests::streaming_pair().both([](proto::LinkSettings& s) {
                       s.profile.feedback = true;
                       s.max_lag = 8;
                       s.missing_allowed = 2;
                   })});
    for (const proto::StampKind kind : {proto::StampKind::echo, proto::StampKind::clock})
        all.push_back({kind == proto::StampKind::echo ? "streaming, own stamps" : "streaming, the sender's clock",
                       tests::streaming_pair().both([kind](proto::LinkSettings& s) {
                           s.profile.time_stamp_bits = 16;
                           s.profile.time_stamp_kind = kind;
                           s.max_age = milliseconds(90);
                           if (kind == proto::StampKind::clock) s.max_early = milliseconds(5);
                       })});
    return all;
}

}  // namespace

TEST_CASE("R-90 skipping so many periods equals exchanging for so long") {
    // 1 ms: nothing on the way between scans; 9 ms: answers wait, repeats flow; 13 ms: something is always on the way
    for (const Duration delay : {milliseconds(1), milliseconds(9), milliseconds(13)}) {
        for (Case& each : cases()) {
            each.pair.both([](proto::LinkSettings& s) { s.watchdog = s.peer_watchdog = milliseconds(80); });
            for (const std::uint64_t periods : {1U, 2U, 5U, 1000U, 70'001U}) {
                CAPTURE(each.name);
                CAPTURE(delay.ns);
                CAPTURE(periods);
                Link real(each.pair, delay);
                Link skipped(each.pair, delay);
                for (Link* link : {&real, &skipped}) link->run_until(Instant{} + milliseconds(602));
                REQUIRE(real.ends[0].state() == State::running);
                REQUIRE(real.ends[1].state() == State::running);
                const Duration lasting = milliseconds(60);  // holds every period of a polled exchange here
                const std::array<QuietPeriod, 2> period = learn(skipped, lasting);
                learn(real, lasting);
                CHECK(period[0].accepted > 0);
                if (periods > 1000 && delay != milliseconds(9)) continue;  // once is enough of the long ones
                skipped.skip(periods, period);
                real.run_until(real.now() + lasting * static_cast<std::int64_t>(periods));
                same(real, skipped);

                // and afterwards, with a loss that makes repeats or a stop, and an acknowledgement
                for (Link* link : {&real, &skipped}) {
                    link->sent.clear();
                    link->run_until(link->now() + milliseconds(205));
                    link->lose = 3;
                    link->run_until(link->now() + milliseconds(400));
                    link->at(End::controller).set_acknowledge(Endpoint::Contact::closed, link->now());
                    link->run_until(link->now() + milliseconds(300));
                }
                CHECK(real.sent.size() > 100);
                CHECK(real.sent == skipped.sent);
                CHECK(real.sinks[0].changes == skipped.sinks[0].changes);
                CHECK(real.sinks[1].changes == skipped.sinks[1].changes);
            }
        }
    }
}

TEST_CASE("R-90 an end whose watchdog is not armed anew does not stand as before") {
    Link link(tests::polled_pair(), milliseconds(1));
    link.run_until(Instant{} + milliseconds(502));
    const auto standing = link.ends[1].standing(link.now());
    REQUIRE(standing.has_value());
    link.run_until(link.now() + milliseconds(10));
    CHECK(link.ends[1].standing(link.now()) == standing);
    link.lose = 1;  // the controller repeats; the device's watchdog runs on for one more cycle
    link.run_until(link.now() + milliseconds(10));
    CHECK(link.ends[1].standing(link.now()) != standing);
}

TEST_CASE("R-90 the time of the last counted error stays where it is") {
    tests::Pair pair = tests::polled_pair().both([](proto::LinkSettings& s) {
        s.reaction = proto::Reaction::discard;
        s.error_interval = proto::seconds(6);
    });
    const std::array<std::uint8_t, 7> nonsense{1, 2, 3, 4, 5, 6, 7};
    // an error, a skip, another error: stopped exactly if the skip was shorter than the interval
    for (const std::uint64_t periods : {590U, 610U}) {
        CAPTURE(periods);
        Link link(pair, milliseconds(1));
        link.run_until(Instant{} + milliseconds(502));
        link.at(End::device).receive(nonsense, {});
        link.run_until(link.now() + milliseconds(60));
        REQUIRE(link.ends[1].state() == State::running);
        const auto period = learn(link, milliseconds(10));
        link.skip(periods, period);
        link.at(End::device).receive(nonsense, {});
        link.run_until(link.now() + milliseconds(20));
        CHECK((link.ends[1].state() == State::running) == (periods == 610U));
    }
}

TEST_CASE("R-90 an end that is starting, or holds a telegram that is not in order, does not stand") {
    Link link(tests::polled_pair(), milliseconds(1));
    CHECK_FALSE(link.ends[0].standing(link.now()).has_value());
    link.run_until(Instant{} + milliseconds(502));
    CHECK(link.ends[1].standing(link.now()).has_value());
    const std::array<std::uint8_t, 3> nonsense{1, 2, 3};
    link.at(End::device).receive(nonsense, {});
    CHECK_FALSE(link.ends[1].standing(link.now()).has_value());
    CHECK_FALSE(link.ends[1].standing_of(nonsense, link.now()).has_value());
}
