// Time stamps of the sender's clock: two ends whose clocks neither show the same nor run alike. Time is true time here;
// what each end sees is its own clock.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cstdint>
#include <functional>
#include <optional>

#include "proto/telegram.hpp"
#include "tests/support/bench.hpp"
#include "tests/support/two_ends.hpp"

namespace {

using proto::Duration;
using proto::End;
using proto::Endpoint;
using proto::Instant;
using proto::Measure;
using proto::milliseconds;
using proto::StampKind;
using proto::State;

/// What an end's clock shows at a true time, and back: an offset and a pace, exact to a nanosecond.
struct Clock {
    std::int64_t ahead_ns = 0;
    std::int64_t fast_ppm = 0;
    [[nodiscard]] Instant shows(Instant truth) const { return {truth.ns + ahead_ns + truth.ns / 1'000'000 * fast_ppm}; }
    /// The first whole microsecond of true time at which the clock shows at least `shown`.
    [[nodiscard]] Instant when(Instant shown) const {
        std::int64_t us =
            std::max<std::int64_t>((shown.ns - ahead_ns) / 1000 * 1000 / (1'000'000 + fast_ppm) * 1'000 - 4'000, 0);
        while (shows({us * 1000}) < shown) ++us;
        return {us * 1000};
    }
};

/// An end that knows only its own clock.
class ClockedEnd final : public tests::TwoEnds::Party {
  public:
    ClockedEnd(const proto::LinkSettings& settings, Clock clock, Duration phase, std::uint64_t entropy)
        : end(Endpoint::make(settings, heard).value()), clock_(clock) {
        end.start(clock.shows({}), phase, entropy);
        due_ = clock.when(end.next_deadline());
    }
    [[nodiscard]] Instant next_scan() const override { return due_; }
    void receive(const tests::Way::InFlight& telegram) override {
        const proto::LinkSettings& own = end.settings();
        const proto::Codec codec(own.profile, &*crc_, proto::other(own.end), own.peer_address, own.own_address, 8);
        const auto decoded = codec.decode(telegram.bytes, {});
        if (look && decoded.failed.empty()) look(decoded.header.stamp);
        end.receive(telegram.bytes, {1});
    }
    void scan(Instant now, const tests::TwoEnds::Send& send) override {
        end.on_deadline(clock_.shows(now));
        tests::poll(end, clock_.shows(now), send);
        due_ = clock_.when(end.next_deadline());
    }
    [[nodiscard]] Instant shows(Instant truth) const { return clock_.shows(truth); }

    std::function<void(std::uint32_t stamp)> look;
    tests::Recorder heard;
    Endpoint end;

  private:
    Clock clock_;
    std::optional<proto::CrcEngine> crc_ = proto::CrcEngine::make(*tests::plain_profile().crc).value();
    Instant due_{};
};

class TwoClocks {
  public:
    TwoClocks(const tests::Pair& pair, Clock controller_clock, Clock device_clock)
        : controller_(pair.controller, controller_clock, {}, 77),
          device_(pair.device, device_clock, milliseconds(3), 78) {
        for (const End to : {End::controller, End::device})
            side(to).look = [this, to](std::uint32_t stamp) {
                if (look) look(to, stamp, side(to).shows(now()));
            };
        // telegrams do not overtake each other
        loop_.channel = [this](const tests::TwoEnds::Sent& sent) {
            const End to = proto::other(sent.sender);
            tests::Way& way = loop_.way_to(to);
            const Instant due = now() + delay(to, now());
            way.put(way.telegrams.empty() ? due : std::max(due, way.telegrams.back().due), sent.bytes);
        };
    }

    /// Delays of the ways to the device and to the controller at a true time.
    std::function<Duration(End to, Instant now)> delay = [](End, Instant) { return milliseconds(1); };
    /// Sees each process telegram as its receiver takes it from the queue: stamp, and what the receiver's clock shows.
    std::function<void(End to, std::uint32_t stamp, Instant shown)> look;

    void run_until(Instant limit) { loop_.run_until(limit); }
    bool run_until_stop(Duration limit) {
        const Instant last = now() + limit;
        while (running() && now() < last) run_until(now() + milliseconds(10));
        return !running();
    }
    [[nodiscard]] Instant now() const { return loop_.now(); }
    Endpoint& at(End end) { return side(end).end; }
    tests::Recorder& heard_by(End end) { return side(end).heard; }
    [[nodiscard]] bool running() const {
        return controller_.end.state() == State::running && device_.end.state() == State::running;
    }
    /// What stopped that end, if it stopped.
    std::optional<Measure> stopped_by(End end) {
        const auto change = heard_by(end).last_change(State::safe_state);
        return change ? change->transition.measure : std::nullopt;
    }

  private:
    ClockedEnd& side(End end) { return end == End::controller ? controller_ : device_; }

    ClockedEnd controller_, device_;
    tests::TwoEnds loop_{controller_, device_, End::controller};
};

tests::Pair stamped(tests::Pair pair, Duration max_age = milliseconds(60), Duration max_early = milliseconds(20)) {
    return pair.both([&](proto::LinkSettings& s) {
        s.profile.time_stamp_bits = 16;
        s.profile.time_stamp_kind = StampKind::clock;
        s.max_age = max_age;
        s.max_early = max_early;
    });
}

/// Clocks that show quite different times and run alike.
constexpr Clock here{.ahead_ns = 123'456'789, .fast_ppm = 0};
constexpr Clock there{.ahead_ns = 98'765'432'100'000, .fast_ppm = 0};

TEST_CASE("R-36 a stamp of the sender's clock is sent alone, and the kind is part of the profile's identity") {
    proto::Profile clock = tests::plain_profile();
    clock.time_stamp_bits = 16;
    const proto::Profile echo = clock;
    clock.time_stamp_kind = StampKind::clock;
    CHECK(proto::layout_of(clock, 8).value().header_bits + 16 == proto::layout_of(echo, 8).value().header_bits);
    CHECK(proto::places_of(clock, 8).stamp.bits == 16);
    CHECK(proto::places_of(clock, 8).echo.bits == 0);
    CHECK(proto::identity_of(clock) != proto::identity_of(echo));
    proto::Profile without = tests::plain_profile();
    without.time_stamp_kind = StampKind::clock;  // decides nothing
    CHECK(proto::identity_of(without) == proto::identity_of(tests::plain_profile()));
    CHECK(proto::layout_of(without, 8).value().header_bits ==
          proto::layout_of(tests::plain_profile(), 8).value().header_bits);
}

TEST_CASE("R-36 a permitted earliness goes with stamps of the sender's clock, and both ages fit the stamp's range") {
    const auto fault = [](auto change) {
        tests::Pair pair = stamped(tests::streaming_pair());
        change(pair.controller);
        const auto found = proto::fault_in(pair.controller);
        return found ? std::optional(found->fault) : std::nullopt;
    };
    using proto::SettingsFault;
    CHECK_FALSE(fault([](proto::LinkSettings&) {}));
    CHECK(fault([](proto::LinkSettings& s) { s.max_early = {}; }) == SettingsFault::max_early);
    CHECK(fault([](proto::LinkSettings& s) { s.max_age = {}; }) == SettingsFault::max_age);
    CHECK(fault([](proto::LinkSettings& s) { s.profile.time_stamp_kind = StampKind::echo; }) ==
          SettingsFault::max_early);
    CHECK(fault([](proto::LinkSettings& s) { s.profile.time_stamp_bits = 0, s.max_age = {}; }) ==
          SettingsFault::max_early);
    // 10 bits of 0.1 ms are 102.3 ms: a watchdog of 50 ms and 40 ms of age leave 12.3 ms.
    CHECK_FALSE(fault([](proto::LinkSettings& s) {
        s.profile.time_stamp_bits = 10, s.max_age = milliseconds(40), s.max_early = milliseconds(12);
    }));
    CHECK(fault([](proto::LinkSettings& s) {
              s.profile.time_stamp_bits = 10, s.max_age = milliseconds(40), s.max_early = milliseconds(13);
          }) == SettingsFault::max_early);
}

TEST_CASE("R-37 two clocks that show quite different times run, polled and in a stream, also over the stamp's end") {
    for (const bool stream : {true, false}) {
        for (const unsigned bits : {16U, 11U, 32U}) {
            CAPTURE(stream);
            CAPTURE(bits);
            auto pair = stamped(stream ? tests::streaming_pair() : tests::polled_pair());
            pair.both([bits](proto::LinkSettings& s) { s.profile.time_stamp_bits = bits; });
            TwoClocks link(pair, here, there);
            link.run_until({proto::seconds(20).ns});  // a 16-bit stamp comes round in 6.6 s
            CHECK(link.running());
            for (const End end : {End::controller, End::device}) {
                CHECK_FALSE(link.heard_by(end).last_rejection());
                CHECK(link.at(end).connections() == 1);
            }
        }
    }
}

TEST_CASE("R-36 a delay that creeps, on either way or on both, is caught by the age") {
    for (const int ways : {1, 2, 3}) {
        CAPTURE(ways);
        TwoClocks link(stamped(tests::streaming_pair()), here, there);
        link.run_until({proto::seconds(1).ns});
        REQUIRE(link.running());
        Duration longest{};
        link.delay = [&](End to, Instant now) {
            const bool slow = to == End::device ? (ways & 1) != 0 : (ways & 2) != 0;
            const Duration d = milliseconds(1) + (slow ? Duration{(now.ns - proto::seconds(1).ns) / 50} : Duration{});
            longest = std::max(longest, d);
            return d;
        };
        CHECK(link.run_until_stop(proto::seconds(10)));
        CHECK((link.stopped_by(End::device) == Measure::time_stamp ||
               link.stopped_by(End::controller) == Measure::time_stamp));
        if (ways == 1) CHECK(link.stopped_by(End::device) == Measure::time_stamp);
        if (ways == 2) CHECK(link.stopped_by(End::controller) == Measure::time_stamp);
        // Noticed before a telegram could be older than permitted, but not without need: a round trip of the start is
        // about 10 ms here.
        CHECK(longest < milliseconds(62));
        CHECK(longest > milliseconds(35));
    }
}

TEST_CASE("R-37 a constant delay on one way that is there at the start cannot hide") {
    // One way alone would set this delay to 0. Over the round trip it is within the error and counts in full.
    // The watchdog is long enough not to matter.
    const auto pair = [](Duration max_age) {
        return stamped(tests::streaming_pair(), max_age).both([](proto::LinkSettings& s) {
            s.watchdog = s.peer_watchdog = milliseconds(200);
        });
    };
    for (const End slow : {End::device, End::controller}) {
        TwoClocks link(pair(milliseconds(40)), here, there);
        link.delay = [slow](End to, Instant) { return milliseconds(to == slow ? 45 : 1); };
        link.run_until({proto::seconds(5).ns});
        CHECK_FALSE(link.running());
        CHECK(link.at(End::device).counters().accepted + link.at(End::controller).counters().accepted == 0);
    }
    // The same delay where it is permitted.
    TwoClocks permitted(pair(milliseconds(90)), here, there);
    permitted.delay = [](End to, Instant) { return milliseconds(to == End::device ? 45 : 1); };
    permitted.run_until({proto::seconds(5).ns});
    CHECK(permitted.running());
    // 30 ms pass at the start; 20 ms more are over what is permitted, though 20 ms alone would not be.
    for (const End slow : {End::device, End::controller}) {
        TwoClocks link(pair(milliseconds(45)), here, there);
        link.delay = [slow](End to, Instant now) {
            return milliseconds(to != slow ? 1 : now.ns < proto::seconds(1).ns ? 30 : 50);
        };
        link.run_until({proto::seconds(1).ns});
        REQUIRE(link.running());
        CHECK(link.run_until_stop(proto::seconds(5)));
        CHECK(link.stopped_by(slow) == Measure::time_stamp);
    }
}

TEST_CASE("R-38 a handshake with too long a round trip is begun again, until one is short enough") {
    const auto pair = stamped(tests::streaming_pair()).both([](proto::LinkSettings& s) {
        s.watchdog = s.peer_watchdog = milliseconds(300);  // so long that it has no part in this
    });
    TwoClocks link(pair, here, there);
    link.delay = [](End, Instant now) { return now.ns < proto::seconds(1).ns ? milliseconds(40) : milliseconds(1); };
    link.run_until({proto::seconds(1).ns});
    CHECK_FALSE(link.running());
    CHECK(link.at(End::device).state() == State::start_up);
    CHECK(link.heard_by(End::device).changes.size() > 2);
    for (const auto& change : link.heard_by(End::device).changes) {
        if (change.transition.cause == proto::Cause::power_up) continue;
        CHECK(change.transition.cause == proto::Cause::start_failed);
        CHECK(change.transition.measure == Measure::time_stamp);
    }
    // Nothing was in use, so nobody has to acknowledge anything.
    link.run_until({proto::seconds(2).ns});
    CHECK(link.running());
}

TEST_CASE("R-36 a clock that is 200 ppm fast: the ages drift apart, their sum stays, and an end stops") {
    // The device's clock gains 0.2 ms in a second. With ages of 60 ms permitted and a round trip of 10 ms at the start
    // the controller sees its limit for too early (20 ms, and about 5 ms of age to begin with) first.
    TwoClocks link(stamped(tests::streaming_pair()), here, {.ahead_ns = there.ahead_ns, .fast_ppm = 200});
    std::array<std::int64_t, 2> age{};  // in 0.1 ms, by the receiver's clock, but for a constant
    std::array<std::optional<std::int64_t>, 2> first{};
    std::int64_t least_sum = 1'000'000, most_sum = -1'000'000;
    link.look = [&](End to, std::uint32_t stamp, Instant shown) {
        const std::size_t i = to == End::controller ? 0 : 1;
        const auto difference = static_cast<std::int16_t>(static_cast<std::uint16_t>(shown.ns / 100'000 - stamp));
        if (!first[i]) first[i] = difference;
        age[i] = static_cast<std::int16_t>(difference - *first[i]);
        if (!first[0] || !first[1]) return;
        least_sum = std::min(least_sum, age[0] + age[1]);
        most_sum = std::max(most_sum, age[0] + age[1]);
    };
    link.run_until({proto::seconds(60).ns});
    REQUIRE(link.running());
    // 12 ms in a minute; scans that slide against each other by as much add up to one cycle.
    CHECK(age[1] - age[0] > 2 * 120 - 110);
    CHECK(age[1] - age[0] < 2 * 120 + 110);
    CHECK(most_sum - least_sum <= 205);
    const std::int64_t from = link.now().ns;
    CHECK(link.run_until_stop(proto::seconds(300)));
    const std::int64_t stopped_ms = link.now().ns / 1'000'000;
    CHECK(from < link.now().ns);
    CHECK(stopped_ms > 60'000);
    CHECK(stopped_ms < 300'000);
    const auto by = link.stopped_by(End::controller);
    CHECK((by == Measure::time_stamp || link.stopped_by(End::device) == Measure::time_stamp));
}

TEST_CASE("R-36 too early comes after the permitted earliness is used up: 40 ms at 200 ppm are 200 s") {
    // The controller's telegrams of a fast clock seem younger and younger at the device, which alone is strict here.
    auto pair = stamped(tests::streaming_pair(), proto::seconds(1), milliseconds(500));
    pair.device.max_early = milliseconds(37);  // and about 3 ms of age to begin with
    TwoClocks link(pair, {.ahead_ns = here.ahead_ns, .fast_ppm = 200}, there);
    CHECK_FALSE(proto::fault_in(pair.device));
    link.run_until({proto::seconds(150).ns});
    REQUIRE(link.running());
    CHECK(link.run_until_stop(proto::seconds(120)));
    CHECK(link.stopped_by(End::device) == Measure::time_stamp);
    const std::int64_t at_s = link.now().ns / 1'000'000'000;
    // A scan is 10 ms of age more or less, which is 50 s.
    CHECK(at_s >= 150);
    CHECK(at_s <= 250);
}

TEST_CASE("R-35 after a stop for the age of one way the link comes back by a new handshake, with a new offset") {
    TwoClocks link(stamped(tests::streaming_pair()), here, {.ahead_ns = there.ahead_ns, .fast_ppm = 2000});
    link.run_until({milliseconds(500).ns});
    REQUIRE(link.running());
    REQUIRE(link.run_until_stop(proto::seconds(60)));
    link.run_until(link.now() + milliseconds(500));
    REQUIRE(link.at(End::controller).acknowledgement_requested());
    link.at(End::controller).set_acknowledge(Endpoint::Contact::closed, {});
    link.run_until(link.now() + milliseconds(500));
    CHECK(link.running());
    CHECK(link.at(End::device).connections() == 2);
}

}  // namespace
