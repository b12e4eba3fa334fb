// Links on which a measure is left out, to look at the others: they run, and no link outside such a look may be so.
#include <doctest/doctest.h>

#include <algorithm>

#include "tests/support/bench.hpp"

namespace {

using proto::End;
using proto::Measure;
using proto::milliseconds;
using proto::NumberUse;
using proto::ProfileUse;
using proto::SettingsFault;
using tests::Bench;

proto::LinkSettings stream_of(const proto::Profile& profile) { return tests::streaming_pair(profile).controller; }

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
    tests::Pair pair = tests::streaming_pair();
    pair.both([use](proto::LinkSettings& end) { end.number_use = use; });
    Bench bench(pair, ProfileUse::single_measure);
    bench.start_both();
    bench.run_for(milliseconds(200));
    REQUIRE(bench.device.state() == proto::State::running);
    const auto old = std::find_if(bench.log.begin(), bench.log.end(), [](const tests::Telegram& telegram) {
        return telegram.to_device() && telegram.what.kind == proto::Transmission::Kind::fresh;
    });
    REQUIRE(old != bench.log.end());
    bench.inject(End::device, old->bytes);
    bench.run_for(milliseconds(10));
    const auto verdict = bench.at_device.about(1'000'000);
    REQUIRE(verdict);
    return *verdict;
}

TEST_CASE("a number that is only fed back: what comes again is taken for new, where judging it would reject it") {
    CHECK(about_old_telegram(NumberUse::judged).failed.has(Measure::sequence));
    CHECK(about_old_telegram(NumberUse::fed_back).kind == proto::Verdict::Kind::fresh);
}

}  // namespace
