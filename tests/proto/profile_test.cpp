// Which profiles and settings are possible, and which fault is named.
#include <doctest/doctest.h>

#include <set>

#include "proto/crc_catalogue.hpp"
#include "tests/support/profiles.hpp"

namespace {

using proto::LinkSettings;
using proto::Presence;
using proto::Profile;
using proto::ProfileFault;
using proto::SettingsFault;

template <class Change>
ProfileFault fault_after(Change change, unsigned payload = 8) {
    Profile profile = tests::carried_crc32();
    change(profile);
    return proto::layout_of(profile, payload).error();
}

template <class Change>
std::optional<SettingsFault> settings_fault(tests::Pair pair, Change change) {
    change(pair.controller);
    const auto error = proto::fault_in(pair.controller);
    if (!error) return std::nullopt;
    return error->fault;
}

}  // namespace

TEST_CASE("every fault of a profile is named") {
    CHECK(fault_after([](Profile& p) { p.address.bits = 0; }) == ProfileFault::address_width);
    CHECK(fault_after([](Profile& p) { p.address.bits = 33; }) == ProfileFault::address_width);
    CHECK(fault_after([](Profile& p) { p.address.presence = Presence::absent; }) == ProfileFault::address_width);
    CHECK(fault_after([](Profile& p) { p.sequence.bits = 0; }) == ProfileFault::sequence_width);
    CHECK(fault_after([](Profile& p) { p.sequence.bits = 33; }) == ProfileFault::sequence_width);
    CHECK(fault_after([](Profile& p) { p.sequence = {}, p.feedback = true; }) == ProfileFault::feedback_alone);
    CHECK(fault_after([](Profile& p) { p.time_stamp_bits = 7; }) == ProfileFault::time_stamp_width);
    CHECK(fault_after([](Profile& p) { p.time_stamp_bits = 33; }) == ProfileFault::time_stamp_width);
    CHECK(fault_after([](Profile& p) { p.time_stamp_bits = 8, p.time_stamp_unit = {}; }) ==
          ProfileFault::time_stamp_unit);
    CHECK(fault_after([](Profile&) {}, 0) == ProfileFault::payload_length);
    CHECK(fault_after([](Profile&) {}, 251) == ProfileFault::payload_length);
    CHECK(fault_after([](Profile& p) { p.crc->polynomial = 2; }) == ProfileFault::crc_parameters);
    CHECK(fault_after([](Profile& p) { p.crc.reset(); }) == ProfileFault::crc_missing);
    CHECK(fault_after([](Profile& p) { p.copies = 0; }) == ProfileFault::copies);
    CHECK(fault_after([](Profile& p) { p.copies = 3; }) == ProfileFault::copies);
    CHECK(fault_after([](Profile& p) { p.copies = 2; }, 250) == ProfileFault::too_long);
}

TEST_CASE("R-11 300 bytes in all are possible, 302 are not") {
    Profile profile = tests::two_copies_crc16();  // 2 + payload + 2, twice
    REQUIRE(proto::layout_of(profile, 146).ok());
    CHECK(proto::layout_of(profile, 146).value().total_bytes == 300);
    CHECK(proto::layout_of(profile, 147).error() == ProfileFault::too_long);
}

TEST_CASE("the widest header fits: 8 + 6 x 32 bits") {
    Profile profile = tests::carried_crc32();
    profile.address.bits = profile.sequence.bits = profile.time_stamp_bits = 32;
    profile.feedback = true;
    const auto layout = proto::layout_of(profile, 250);
    REQUIRE(layout.ok());
    CHECK(layout.value().header_bits == 200);
    CHECK(layout.value().total_bytes == 25 + 250 + 4);
}

TEST_CASE("the identity of a profile changes with each property that decides the bytes, and with no other") {
    const Profile base = tests::carried_crc32();
    std::set<std::uint32_t> identities{proto::identity_of(base)};
    std::size_t tried = 1;
    const auto differs = [&](auto change) {
        Profile profile = base;
        change(profile);
        identities.insert(proto::identity_of(profile));
        CHECK(identities.size() == ++tried);
    };
    differs([](Profile& p) { p.address.bits = 17; });
    differs([](Profile& p) { p.address.presence = Presence::implied; });
    differs([](Profile& p) { p.sequence.bits = 17; });
    differs([](Profile& p) { p.sequence.presence = Presence::implied; });
    differs([](Profile& p) { p.direction = Presence::implied; });
    differs([](Profile& p) { p.feedback = true; });
    differs([](Profile& p) { p.time_stamp_bits = 8; });
    differs([](Profile& p) { p.time_stamp_bits = 8, p.time_stamp_unit = proto::microseconds(200); });
    differs([](Profile& p) { p.copies = 2; });
    differs([](Profile& p) { p.zero_as_one = false; });
    differs([](Profile& p) { p.crc->polynomial ^= 2; });
    differs([](Profile& p) { p.crc->initial ^= 2; });
    differs([](Profile& p) { p.crc->final_xor ^= 2; });
    differs([](Profile& p) { p.crc->reflect_in = true; });
    differs([](Profile& p) { p.crc->reflect_out = true; });
    differs([](Profile& p) { p.crc->width = 33; });

    Profile same = base;
    same.name = "another";
    same.crc_name = "another";
    same.payload_bytes = 9;
    same.time_stamp_unit = proto::microseconds(1);  // without time stamps it decides nothing
    CHECK(proto::identity_of(same) == proto::identity_of(base));
}

TEST_CASE("the settings of the bench are possible at both ends") {
    for (const auto& pair : {tests::polled_pair(), tests::streaming_pair()}) {
        CHECK_FALSE(proto::fault_in(pair.controller));
        CHECK_FALSE(proto::fault_in(pair.device));
    }
    for (const Profile& profile : tests::profiles_like_shipped())
        CHECK_FALSE(proto::fault_in(tests::polled_pair(profile).controller));
}

TEST_CASE("every fault of the settings is named") {
    const auto polled = tests::polled_pair(), streaming = tests::streaming_pair();
    const auto in_polled = [&](auto change) { return settings_fault(polled, change); };
    const auto in_stream = [&](auto change) { return settings_fault(streaming, change); };
    using proto::microseconds;
    using proto::milliseconds;
    CHECK(in_polled([](LinkSettings& s) { s.profile.copies = 3; }) == SettingsFault::profile);
    CHECK(in_polled([](LinkSettings& s) { s.payload_received = 0; }) == SettingsFault::profile);
    CHECK(in_polled([](LinkSettings& s) { s.peer_address = 0x10000; }) == SettingsFault::address_too_wide);
    CHECK(in_polled([](LinkSettings& s) { s.own_address = 0x10000; }) == SettingsFault::address_too_wide);
    CHECK(in_polled([](LinkSettings& s) { s.profile.feedback = true; }) == SettingsFault::polled_feedback);
    CHECK(in_stream([](LinkSettings& s) { s.profile.sequence = {}; }) == SettingsFault::streaming_needs_number);
    CHECK(in_polled([](LinkSettings& s) { s.missing_allowed = 1; }) == SettingsFault::missing_allowed);
    CHECK(in_polled([](LinkSettings& s) { s.max_lag = 1; }) == SettingsFault::max_lag);
    CHECK(in_stream([](LinkSettings& s) { s.max_lag = 1; }) == SettingsFault::max_lag);
    CHECK(in_stream([](LinkSettings& s) { s.profile.feedback = true, s.max_lag = 0; }) == SettingsFault::max_lag);
    CHECK(in_stream([](LinkSettings& s) { s.profile.feedback = true, s.max_lag = 1U << 15; }) ==
          SettingsFault::max_lag);
    CHECK_FALSE(in_stream([](LinkSettings& s) { s.profile.feedback = true, s.max_lag = (1U << 15) - 1; }));
    CHECK(in_polled([](LinkSettings& s) { s.cycle = s.scan = microseconds(99); }) == SettingsFault::cycle);
    CHECK(in_polled([](LinkSettings& s) { s.cycle = s.scan = milliseconds(10'001); }) == SettingsFault::cycle);
    CHECK(in_polled([](LinkSettings& s) { s.cycle = s.scan = {10'000'001}; }) == SettingsFault::cycle);
    CHECK(in_polled([](LinkSettings& s) { s.scan = milliseconds(5); }) == SettingsFault::scan);
    CHECK(in_polled([](LinkSettings& s) { s.watchdog = milliseconds(10); }) == SettingsFault::watchdog);
    CHECK(in_polled([](LinkSettings& s) { s.peer_watchdog = milliseconds(10); }) == SettingsFault::watchdog);
    CHECK(in_polled([](LinkSettings& s) { s.watchdog = proto::seconds(3601); }) == SettingsFault::watchdog);
    CHECK(in_polled([](LinkSettings& s) { s.watchdog = {50'000'001}; }) == SettingsFault::watchdog);
    CHECK(in_polled([](LinkSettings& s) { s.error_interval = {-1}; }) == SettingsFault::error_interval);
    CHECK(in_polled([](LinkSettings& s) { s.max_age = milliseconds(5); }) == SettingsFault::max_age);
    CHECK(in_polled([](LinkSettings& s) { s.profile.time_stamp_bits = 16; }) == SettingsFault::max_age);
    CHECK(in_polled([](LinkSettings& s) { s.profile.time_stamp_bits = 8, s.max_age = milliseconds(13); }) ==
          SettingsFault::max_age);  // 130 units of 255
    CHECK(in_polled([](LinkSettings& s) { s.claimed_level = 0; }) == SettingsFault::claimed_level);
    CHECK(in_polled([](LinkSettings& s) { s.claimed_level = 5; }) == SettingsFault::claimed_level);
    CHECK(in_polled([](LinkSettings& s) { s.profile.crc.reset(); }) == SettingsFault::profile);
}

TEST_CASE("R-23 polled needs a number of two bits at least") {
    const auto with_bits = [](unsigned bits) {
        return settings_fault(tests::polled_pair(), [bits](LinkSettings& s) {
            s.profile.sequence = {bits == 0 ? Presence::absent : Presence::carried, bits};
        });
    };
    CHECK(with_bits(0) == SettingsFault::polled_needs_number);
    CHECK(with_bits(1) == SettingsFault::polled_needs_number);
    CHECK_FALSE(with_bits(2));
}

TEST_CASE("R-31 streaming: missing_allowed + 1 stays under half the range of the number") {
    for (unsigned bits = 2; bits <= 9; ++bits)
        for (unsigned missing = 0; missing < 260; ++missing) {
            const auto fault = settings_fault(tests::streaming_pair(), [&](LinkSettings& s) {
                s.profile.sequence.bits = bits;
                s.missing_allowed = missing;
            });
            // 255 is also the most that the parameter telegram can say
            REQUIRE(!fault.has_value() == (missing + 1 < 1U << (bits - 1) && missing <= 255));
        }
}

TEST_CASE("R-46 settings that cannot see loop-back are refused") {
    auto pair = tests::polled_pair(tests::two_copies_crc16());
    const auto fault = [&](auto change) { return settings_fault(pair, change); };
    CHECK_FALSE(fault([](LinkSettings&) {}));
    CHECK(fault([](LinkSettings& s) { s.profile.direction = Presence::absent; }) == SettingsFault::loop_back_unseen);
    CHECK_FALSE(fault([](LinkSettings& s) { s.profile.direction = Presence::implied; }));
    CHECK_FALSE(fault([](LinkSettings& s) {
        s.profile.direction = Presence::absent;
        s.profile.address = {Presence::implied, 16};
    }));
    // Addresses that alias under the CRC's polynomial 0x1021 tell nothing when exchanged.
    CHECK(fault([](LinkSettings& s) {
              s.profile.direction = Presence::absent;
              s.profile.address = {Presence::implied, 32};
              s.own_address = 0x1;
              s.peer_address = 0x11020;
          }) == SettingsFault::loop_back_unseen);
}
