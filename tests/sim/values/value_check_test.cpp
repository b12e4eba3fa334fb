// The ends' values compared before anything runs: by what they mean on the wire.
#include "sim/studies/value_check.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "tests/support/scenarios.hpp"
#include "tests/support/slow_values.hpp"

namespace {

using sim::Scenario;
using sim::TypedValue;
using sim::ValueOrder;
using sim::ValueType;

/// In counts of 1 mm/s, over all that 16 bits hold.
Scenario with_speed(ValueType type = ValueType::u16) {
    Scenario s = tests::polled_link();
    sim::SafeValue value = tests::speed_value("allowed_speed");
    value.low = sim::lowest_count(type) * 1'000;
    value.high = sim::highest_count(type) * 1'000;
    tests::add_value(s, value, {type, 2, ValueOrder::high_first, 1'000, {}});
    return s;
}

TypedValue& at_device(Scenario& s) { return s.values.typed[1].back(); }

/// What is said of the one difference that there is.
sim::Difference difference_in(const Scenario& s) {
    const sim::CrossCheck check = sim::cross_check(s);
    REQUIRE(check.differences.size() == 1);
    CHECK(!check.signature.has_value());
    CHECK(!check.ok());
    return check.differences.front();
}

TEST_CASE("values that are typed alike are compared, agree, and are named among what no measure sees") {
    const Scenario s = with_speed();
    const sim::CrossCheck check = sim::cross_check(s), without = sim::cross_check(tests::polled_link());
    CHECK(check.differences.empty());
    CHECK(check.compared == without.compared + 1);
    CHECK(check.signature.has_value());
    const auto told = std::find_if(check.settings.begin(), check.settings.end(), [](const sim::ComparedSetting& one) {
        return one.setting == "value allowed_speed, to table I/O";
    });
    REQUIRE(told != check.settings.end());
    CHECK(told->same());
    CHECK(told->controller == "bytes 2 and 3, u16, high byte first, 1 mm/s a count");
    const auto says = [](const std::string& words) {
        return words.starts_with("a value with another place, byte order");
    };
    CHECK(std::count_if(check.undetectable.begin(), check.undetectable.end(), says) == 1);
    CHECK(std::count_if(without.undetectable.begin(), without.undetectable.end(), says) == 0);
}

TEST_CASE("another byte order is a difference that no measure sees, with what is read") {
    Scenario s = with_speed();
    at_device(s).order = ValueOrder::low_first;
    const sim::Difference d = difference_in(s);
    CHECK(d.setting == "value allowed_speed, to table I/O");
    CHECK(d.controller == "bytes 2 and 3, u16, high byte first, 1 mm/s a count");
    CHECK(d.device == "bytes 2 and 3, u16, low byte first, 1 mm/s a count");
    CHECK(d.seen_at_controller == "Running, and 100 mm/s is read as 25600 mm/s");
    CHECK(d.seen_at_device == d.seen_at_controller);
    CHECK(d.mend.starts_with("see in the manual of table controller"));
}

TEST_CASE("what is read out of range is said to be replaced") {
    Scenario s = with_speed();
    s.values.all.back().high = 250'000;
    at_device(s).order = ValueOrder::low_first;
    CHECK(difference_in(s).seen_at_device ==
          "Running, and 100 mm/s is read as 25600 mm/s, out of range: the substitute 0 mm/s is used instead");
}

TEST_CASE("another scale and another type are differences too") {
    Scenario scale = with_speed();
    at_device(scale).scale = 100;
    CHECK(difference_in(scale).seen_at_device == "Running, and 100 mm/s is read as 10 mm/s");
    Scenario type = with_speed();
    type.values.all.back().source.steps = {{{}, 40'000'000}};
    at_device(type).type = ValueType::i16;
    CHECK(difference_in(type).seen_at_device ==
          "Running, and 40000 mm/s is read as -25536 mm/s, out of range: the substitute 0 mm/s is used instead");
}

TEST_CASE("two values that changed places are seen by nobody, one in other bytes is refused at the start") {
    Scenario s = with_speed();
    sim::SafeValue second = tests::speed_value("second_speed");
    second.high = 65'535'000;
    second.source.steps = {{{}, 7'000}};
    tests::add_value(s, second, {ValueType::u16, 4, ValueOrder::high_first, 1'000, {}});
    std::swap(s.values.typed[1][0].at, s.values.typed[1][1].at);
    const sim::CrossCheck check = sim::cross_check(s);
    REQUIRE(check.differences.size() == 2);
    for (const sim::Difference& d : check.differences) CHECK(d.seen_at_device.starts_with("Running, and "));

    Scenario moved = with_speed();
    at_device(moved).at = 5;
    moved.device.link.bits_received[2] = moved.device.link.bits_received[3] = 0;
    moved.device.link.bits_received[5] = moved.device.link.bits_received[6] = 0xFF;
    const sim::Difference d = difference_in(moved);
    CHECK(d.seen_at_controller == "The other end refuses the parameters: bits in use to table I/O");
    CHECK(d.device == "bytes 5 and 6, u16, high byte first, 1 mm/s a count");
}

TEST_CASE("a bit that is refused at the start does not make a value's byte order seen") {
    Scenario s = with_speed();
    at_device(s).order = ValueOrder::low_first;
    s.device.bits[1].place = {6, 0};
    s.device.link.bits_received[6] = 1;
    s.device.link.bits_received[0] = 0;
    const sim::CrossCheck check = sim::cross_check(s);
    REQUIRE(check.differences.size() == 2);
    CHECK(check.differences[0].seen_at_device.starts_with("Start refused: bits in use"));
    CHECK(check.differences[1].seen_at_device == "Running, and 100 mm/s is read as 25600 mm/s");
}

TEST_CASE("orders are compared by meaning: the link's exchange of pairs counts, other words for it do not") {
    // both ends exchange pairs: what is typed is what counts
    Scenario s = with_speed();
    tests::both_ends(s, [](proto::LinkSettings& link) { link.byte_order = proto::ByteOrder::low_first; });
    CHECK(sim::cross_check(s).differences.empty());
    at_device(s).order = ValueOrder::low_first;
    CHECK(difference_in(s).seen_at_device == "Running, and 100 mm/s is read as 25600 mm/s");
    // one byte has no order
    Scenario one = with_speed(ValueType::u8);
    at_device(one).order = ValueOrder::low_first;
    CHECK(sim::cross_check(one).differences.empty());
    // of four bytes the words alone may be exchanged
    Scenario four = with_speed(ValueType::u32);
    at_device(four).order = ValueOrder::word_swapped;
    CHECK(difference_in(four).seen_at_device == "Running, and 100 mm/s is read as 6553600 mm/s");
}

TEST_CASE("a step towards safe that is held for too short a time is a caution, one that stays is none") {
    Scenario s = with_speed();
    sim::ValueSource& source = s.values.all.back().source;
    source.kind = sim::ValueSource::Kind::over_time;
    source.steps = {{{}, 100'000}, {proto::milliseconds(500), 10'000}, {proto::milliseconds(505), 90'000}};
    const auto dips = [](const Scenario& of) {
        const sim::CrossCheck check = sim::cross_check(of);
        return std::count_if(check.cautions.begin(), check.cautions.end(), [](const std::string& words) {
            return words.starts_with("allowed_speed is 10 mm/s for 5 ms only; under ");
        });
    };
    CHECK(dips(s) == 1);
    source.steps.back().at = proto::milliseconds(900);
    CHECK(dips(s) == 0);
}

}  // namespace
