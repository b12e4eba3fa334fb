// Links on which a measure is left out, to look at the others: they run, and no link outside such a look may be so.
#include <doctest/doctest.h>

#include "tests/support/bench.hpp"

namespace {

using proto::End;
using proto::Measure;
using proto::milliseconds;
using proto::NumberUse;
using proto::Presence;
using proto::ProfileUse;
using proto::SettingsFault;
using tests::Bench;

proto::LinkSettings stream_of(proto::Profile profile) { return tests::streaming_pair(profile).controller; }

TEST_CASE("R-12 without a CRC, a watchdog or a judged number: refused for a link, possible for a look at a measure") {
    proto::LinkSettings none = stream_of(tests::plain_profile());
    none.profile.crc.reset();
    REQUIRE(proto::fault_in(none).has_value());
    CHECK(proto::fault_in(none)->profile_fault == proto::ProfileFault::crc_missing);
    CHECK_FALSE(proto::fault_in(none, ProfileUse::single_measure).has_value());

    proto::LinkSettings unwatched = stream_of(tests::plain_profile());
    unwatched.watchdog = unwatched.peer_watchdog = proto::seconds(36'000);
    REQUIRE(proto::fault_in(unwatched).has_value());
    CHECK(proto::fault_in(unwatched)->fault == SettingsFault::watchdog);
    CHECK_FALSE(proto::fault_in(unwatched, ProfileUse::single_measure).has_value());

    proto::LinkSettings unjudged = stream_of(tests::plain_profile());
    unjudged.number_use = NumberUse::fed_back;
    REQUIRE(proto::fault_in(unjudged).has_value());
    CHECK(proto::fault_in(unjudged)->fault == SettingsFault::number_not_judged);
    CHECK_FALSE(proto::fault_in(unjudged, ProfileUse::single_measure).has_value());
}

/// What an end of a stream concludes about a telegram from long ago that comes again.
proto::Verdict about_old_telegram(NumberUse use) {
    tests::Recorder at_controller, at_device;
    tests::Pair pair = tests::streaming_pair();
    pair.both([use](proto::LinkSettings& end) { end.number_use = use; });
    auto controller = proto::Endpoint::make(pair.controller, at_controller, ProfileUse::single_measure);
    auto device = proto::Endpoint::make(pair.device, at_device, ProfileUse::single_measure);
    REQUIRE(controller.ok());
    REQUIRE(device.ok());
    proto::Endpoint c = std::move(controller).value(), d = std::move(device).value();
    c.start({}, {}, 1);
    d.start({}, milliseconds(3), 2);
    std::array<std::uint8_t, proto::telegram_bytes_max> bytes{};
    tests::Bytes old;
    const auto exchange = [&](proto::Endpoint& from, proto::Endpoint& to, std::uint64_t token) {
        const proto::Instant now = from.next_deadline();
        from.on_deadline(now);
        const proto::Transmission made = from.poll_transmit(now, bytes);
        if (made.kind == proto::Transmission::Kind::none) return;
        to.receive({bytes.data(), made.bytes}, {token});
        if (made.kind == proto::Transmission::Kind::fresh && old.empty() && &from == &c)
            old.assign(bytes.begin(), bytes.begin() + static_cast<std::ptrdiff_t>(made.bytes));
    };
    for (std::uint64_t i = 0; i < 20; ++i) {
        exchange(c, d, 1);
        exchange(d, c, 2);
    }
    REQUIRE(d.state() == proto::State::running);
    d.receive(old, {99});
    d.on_deadline(d.next_deadline());
    const auto verdict = at_device.about(99);
    REQUIRE(verdict);
    return *verdict;
}

TEST_CASE("a number that is only fed back: what comes again is taken for new, where judging it would reject it") {
    CHECK(about_old_telegram(NumberUse::judged).failed.has(Measure::sequence));
    CHECK(about_old_telegram(NumberUse::fed_back).kind == proto::Verdict::Kind::fresh);
}

}  // namespace
