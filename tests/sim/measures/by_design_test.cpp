// What cannot be detected by design is said before anything runs, error by error.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "sim/measures/by_design.hpp"
#include "sim/measures/links.hpp"
#include "sim/reading/read.hpp"

namespace {

using proto::Presence;
using proto::Profile;
using sim::ErrorKind;
using sim::Undetectable;

Profile shipped(const std::string& name) {
    const auto read = sim::read_profile(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/profiles/" + name + ".toml");
    REQUIRE(read.ok());
    return read.value();
}

bool says(const std::vector<Undetectable>& all, ErrorKind error, const std::string& words) {
    return std::any_of(all.begin(), all.end(), [&](const Undetectable& one) {
        return one.error == error && one.words.find(words) != std::string::npos;
    });
}
bool about(const std::vector<Undetectable>& all, ErrorKind error) { return says(all, error, ""); }

TEST_CASE(
    "a profile with addresses, direction, number and CRC: what is left is chance, a wrapped number and an attack") {
    const auto all = sim::undetectable_by(shipped("crc32_carried"));
    CHECK(says(all, ErrorKind::corruption, "32-bit CRC"));
    CHECK(says(all, ErrorKind::repetition, "exactly 65536 numbers"));
    CHECK(says(all, ErrorKind::insertion, "by chance"));
    CHECK(says(all, ErrorKind::masquerade, "an attack"));
    CHECK_FALSE(about(all, ErrorKind::addressing));
    CHECK_FALSE(about(all, ErrorKind::loss));
    CHECK_FALSE(about(all, ErrorKind::delay));
    CHECK(says(all, ErrorKind::incorrect_sequence, "after exactly 65536 later ones"));
}

TEST_CASE("by design: each measure that a profile lacks names its errors") {
    Profile profile = shipped("crc32_carried");
    profile.address = {};
    CHECK(says(sim::undetectable_by(profile), ErrorKind::insertion, "no address is carried"));
    CHECK(says(sim::undetectable_by(profile), ErrorKind::addressing, "the wrong link"));
    CHECK_FALSE(says(sim::undetectable_by(profile), ErrorKind::addressing, "looped back"));
    profile.direction = Presence::absent;
    CHECK(says(sim::undetectable_by(profile), ErrorKind::addressing, "looped back"));

    profile = shipped("crc32_carried");
    profile.sequence.bits = 32;  // comes round after a year of 10 ms cycles at the earliest
    CHECK_FALSE(about(sim::undetectable_by(profile), ErrorKind::repetition));
    CHECK_FALSE(about(sim::undetectable_by(profile), ErrorKind::incorrect_sequence));
    profile.sequence.bits = 8;
    CHECK(says(sim::undetectable_by(profile), ErrorKind::repetition, "exactly 256 numbers"));

    CHECK(says(sim::undetectable_by(shipped("crc16_twice")), ErrorKind::corruption, "in both copies alike"));
    profile.crc.reset();
    CHECK(says(sim::undetectable_by(profile), ErrorKind::corruption, "neither a CRC nor a second copy"));
}

TEST_CASE("by design: in a stream only a time stamp or feedback shows how old a telegram is") {
    CHECK(about(sim::undetectable_in_a_stream(shipped("crc32_carried")), ErrorKind::delay));
    CHECK(sim::undetectable_in_a_stream(shipped("crc32_feedback")).empty());
    CHECK(sim::undetectable_in_a_stream(shipped("crc32_stamped")).empty());

    proto::LinkSettings link = sim::link_of(shipped("crc32_feedback"), proto::Exchange::streaming).value().controller;
    CHECK_FALSE(about(sim::undetectable_with(link), ErrorKind::delay));
    link.max_lag.reset();  // fed back, and nobody looks at it
    CHECK(says(sim::undetectable_with(link), ErrorKind::delay, "grows slowly"));
    CHECK(says(sim::undetectable_with(link), ErrorKind::delay, "below 35 ms"));
    link = sim::link_of(shipped("crc32_carried"), proto::Exchange::polled).value().controller;
    CHECK_FALSE(about(sim::undetectable_with(link), ErrorKind::delay));
}

TEST_CASE("by design: settings that exist only to look at measures name what they let through") {
    using proto::Measure;
    const auto left_out = [](Measure measure) {
        const sim::StudyLink link = sim::without(sim::with_every_measure(), measure);
        return sim::undetectable_with(link.controller, link.other_traffic_crc);
    };
    CHECK(says(left_out(Measure::time_expectation), ErrorKind::loss, "no watchdog"));
    CHECK(says(left_out(Measure::time_expectation), ErrorKind::delay, "no watchdog"));
    CHECK(says(left_out(Measure::sequence), ErrorKind::repetition, "no number is judged"));
    CHECK(says(left_out(Measure::sequence), ErrorKind::incorrect_sequence, "no number is judged"));
    CHECK_FALSE(says(left_out(Measure::sequence), ErrorKind::repetition, "65536"));
    CHECK(says(left_out(Measure::different_integrity), ErrorKind::masquerade, "the same kind of CRC"));
    CHECK_FALSE(says(left_out(Measure::time_stamp), ErrorKind::masquerade, "the same kind of CRC"));
    for (const Measure measure : {Measure::time_stamp, Measure::feedback, Measure::cross_check}) {
        CHECK_FALSE(about(left_out(measure), ErrorKind::loss));
        CHECK_FALSE(about(left_out(measure), ErrorKind::delay));
    }
}

TEST_CASE("R-09 a profile whose good telegram can be nothing but zeros is known before it stops for nothing") {
    for (const char* name : {"crc32_carried", "crc24_implied", "crc16_twice", "crc32_implied_number"})
        CHECK_FALSE(sim::may_be_all_zero(shipped(name)));
    Profile profile = shipped("crc32_carried");
    profile.address = {};
    CHECK_FALSE(sim::may_be_all_zero(profile));  // its CRC of zeros is not 0
    profile.crc->initial = profile.crc->final_xor = 0;
    CHECK(sim::may_be_all_zero(profile));
    profile.zero_as_one = true;
    CHECK_FALSE(sim::may_be_all_zero(profile));
    profile.zero_as_one = false;
    profile.copies = 2;  // the second copy is nothing but ones then
    CHECK_FALSE(sim::may_be_all_zero(profile));
    profile.copies = 1;
    profile.address = {Presence::carried, 16};
    CHECK_FALSE(sim::may_be_all_zero(profile));
    // an 8-bit CRC over an implied number of 8 bits is 0 for one of the 256 numbers
    profile.address = {};
    profile.sequence = {Presence::implied, 8};
    profile.crc = proto::CrcSpec{.width = 8, .polynomial = 0x07, .initial = 0x5A};
    CHECK(sim::may_be_all_zero(profile));
}

TEST_CASE("by design: errors come in their order, and what no link sees is of no error") {
    const auto all = sim::undetectable_with(sim::with_only(proto::Measure::time_expectation).controller);
    CHECK(std::is_sorted(all.begin(), all.end(),
                         [](const Undetectable& a, const Undetectable& b) { return a.error < b.error; }));
    for (const Undetectable& each : sim::undetectable_by_any()) CHECK(each.error == ErrorKind::none);
}

}  // namespace
