// Addresses stand as they were typed, with the other base beside them.
#include <doctest/doctest.h>

#include <string>

#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/typed_address.hpp"
#include "sim/studies/cross_check.hpp"
#include "tests/support/text_files.hpp"

using sim::as_typed;
using sim::digits_that_agree;
using sim::in_both_bases;
using sim::TypedAddress;

namespace {

const std::string press = LINKDRILL_SOURCE_DIR "/scenarios/veneer_press/all_errors.toml";

/// The press with those two lines for its addresses, of which the first is 0x0010 and the second 0x0021.
sim::Scenario press_with(const std::string& at_controller, const std::string& at_device) {
    const std::string text = tests::with(tests::with(tests::text_of(press), "address = \"0x0010\"", at_controller),
                                         "address = \"0x0021\"", at_device);
    const auto read = sim::scenario_in(text, press);
    REQUIRE_MESSAGE(read.ok(), (read.ok() ? "" : read.error().one_line()));
    return read.value();
}

}  // namespace

TEST_CASE("an address stands as it was typed, the other base beside it") {
    CHECK(in_both_bases({23, 0}) == "23 (0x17)");
    CHECK(in_both_bases({23, 2}) == "0x17 (23)");
    CHECK(in_both_bases({23, 4}) == "0x0017 (23)");
    CHECK(in_both_bases({0, 0}) == "0 (0x0)");
    CHECK(in_both_bases({0xFFFFFFFF, 1}) == "0xFFFFFFFF (4294967295)");
    CHECK(as_typed({23, 0}) == "23");
    CHECK(as_typed(TypedAddress{23}) == "0x0017");
}

TEST_CASE("digits that agree in another base are told, and only these") {
    CHECK(digits_that_agree({0x23, 2}, {23, 0}) == "the digits agree: one was typed by 16");
    CHECK(digits_that_agree({23, 0}, {0x23, 4}) == "the digits agree: one was typed by 16");
    // both by one base: what was typed may have been read off a page that has the other
    CHECK(digits_that_agree({0x23, 4}, {23, 4}).find("0x23 and 23") != std::string::npos);
    CHECK(digits_that_agree({0x23, 4}, {0x24, 4}).empty());
    CHECK(digits_that_agree({23, 0}, {23, 4}).empty());  // the same
    CHECK(digits_that_agree({9, 0}, {0xA, 4}).empty());
    CHECK(digits_that_agree({0x1A, 4}, {26, 0}).empty());
}

TEST_CASE("how each address was typed is read with it") {
    const sim::Scenario s = press_with("address = 23", "address = \"0x21\"");
    CHECK(s.controller.own_address() == TypedAddress{23, 0});
    CHECK(s.device.own_address() == TypedAddress{0x21, 2});
    // what nobody typed for the other end is shown as it was typed there
    CHECK(s.controller.peer_address() == TypedAddress{0x21, 2});
    CHECK(s.device.peer_address() == TypedAddress{23, 0});
    const sim::Scenario other = press_with("address = \"23\"", "address = 0x21");
    CHECK(other.controller.own_address() == TypedAddress{23, 0});
    CHECK(in_both_bases(other.device.own_address()) == "0x21 (33)");
}

TEST_CASE("one number in two bases is one address, and two numbers with the same digits are told") {
    const sim::CrossCheck same = cross_check(press_with("address = 23", "address = \"0x21\"\npeer_address = \"0x17\""));
    CHECK(same.differences.empty());
    CHECK(same.signature.has_value());
    const sim::CrossCheck check =
        cross_check(press_with("address = 23", "address = \"0x21\"\npeer_address = \"0x23\""));
    REQUIRE(check.differences.size() == 1);
    const sim::Difference& d = check.differences[0];
    CHECK(d.controller == "23 (0x17)");
    CHECK(d.device == "0x23 (35)");
    CHECK(d.note == "the digits agree: one was typed by 16");
    CHECK(d.seen_at_device.ends_with("here 0x23 (35), sent 23 (0x17)"));
    CHECK(d.controller_addresses == std::vector<TypedAddress>{{23, 0}});
    CHECK(d.mend_at == sim::MendAt::design);
}
