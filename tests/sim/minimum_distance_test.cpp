// Minimum distance: properties over many cases, limits of each case, and the inverse to the nanosecond.
#include "sim/timing/minimum_distance.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <tuple>
#include <vector>

#include "tests/support/effort.hpp"

namespace {

using proto::Duration;
using proto::milliseconds;
using sim::Approach;
using sim::DistanceCase;
using sim::Edition;
using sim::Length;

DistanceCase drawn(tests::Draws& draws) {
    DistanceCase how;
    how.edition = draws.one_in(2) ? Edition::iso_13855_2010 : Edition::iso_13855_2024;
    how.approach = static_cast<Approach>(draws.below(7));
    const bool vertical = how.approach <= Approach::single_beam;
    if (how.approach == Approach::right_angle) how.resolution_um = draws.between(1, 70'000);
    if (how.approach == Approach::parallel) how.height_um = draws.between(0, 1'000'000);
    if (how.approach == Approach::interlocked_guard) how.reaching_through_um = draws.between(0, 900'000);
    if (vertical && draws.one_in(2)) how.reaching_over_um = draws.between(0, 1'500'000);
    if (how.edition == Edition::iso_13855_2024 && draws.one_in(2)) how.supplement_um = draws.between(0, 100'000);
    return how;
}

DistanceCase curtain(std::int64_t resolution_um) {
    return {.edition = Edition::iso_13855_2010, .approach = Approach::right_angle, .resolution_um = resolution_um};
}

std::string key_of_fault(const DistanceCase& how) {
    const auto fault = sim::fault_in(how);
    return fault ? fault->key : "";
}

bool any_has(const std::vector<std::string>& texts, const std::string& part) {
    return std::any_of(texts.begin(), texts.end(),
                       [&](const std::string& text) { return text.find(part) != std::string::npos; });
}

}  // namespace

TEST_CASE("the distance never falls when the time grows, and never lies under its fixed part") {
    tests::Draws draws(31);
    for (int i = 0; i < 20'000; ++i) {
        const DistanceCase how = drawn(draws);
        REQUIRE_FALSE(sim::fault_in(how));
        Duration time{draws.between(0, 600'000'000)};
        Length last = sim::needed_length(how, time);
        CHECK(last >= sim::fixed_part(how));
        for (int k = 0; k < 4; ++k) {
            time = time + Duration{draws.between(0, 100'000'000)};
            const Length next = sim::needed_length(how, time);
            if (next < last) FAIL_CHECK("case ", i, " falls at ", time.ns, " ns");
            last = next;
        }
    }
}

TEST_CASE("the inverse is exact: the longest time is enough, a nanosecond more is not") {
    tests::Draws draws(32);
    std::uint64_t with_a_time = 0, without = 0;
    for (int i = 0; i < 50'000; ++i) {
        const DistanceCase how = drawn(draws);
        const Length there = sim::micrometres(draws.between(0, 3'000'000));
        const auto longest = sim::longest_overall(how, there);
        if (!longest) {
            ++without;
            CHECK(sim::fixed_part(how) > there);
            continue;
        }
        ++with_a_time;
        CHECK(sim::needed_length(how, *longest) <= there);
        CHECK(sim::needed_length(how, *longest + Duration{1}) > there);
    }
    CHECK(with_a_time > 10'000);
    CHECK(without > 1'000);
}

TEST_CASE("at the flat step of 500 mm the inverse takes 1600 mm/s") {
    // 14 mm: 2000 mm/s reach 500 mm at 250 ms, 1600 mm/s at 312.5 ms; all between need 500 mm.
    CHECK(sim::longest_overall(curtain(14'000), sim::millimetres(500)) == proto::microseconds(312'500));
    CHECK(sim::longest_overall(curtain(14'000), sim::micrometres(499'999)) == Duration{249'999'500});
    CHECK(sim::needed_length(curtain(14'000), milliseconds(251)) == sim::millimetres(500));
    CHECK(sim::needed_length(curtain(14'000), milliseconds(313)) == Length{500'800'000'000});
    // 40 mm: 208 mm are added, and 1600 mm/s still lie above 2000 mm/s at 500 mm.
    CHECK(sim::longest_overall(curtain(40'000), sim::millimetres(500)) == proto::microseconds(182'500));
}

TEST_CASE("the lower limits: 100 mm at right angles, 850 mm along a high field, no addition under 14 mm") {
    CHECK(sim::fixed_part(curtain(14'000)) == sim::millimetres(100));
    CHECK(sim::longest_overall(curtain(14'000), sim::millimetres(100)) == milliseconds(50));
    CHECK_FALSE(sim::longest_overall(curtain(14'000), sim::micrometres(99'999)));
    CHECK(sim::needed_length(curtain(5'000), milliseconds(90)) == sim::millimetres(180));
    DistanceCase how{.edition = Edition::iso_13855_2010, .approach = Approach::parallel, .height_um = 875'000};
    CHECK(sim::fixed_part(how) == sim::millimetres(850));
    how.height_um = 1'000'000;
    CHECK(sim::fixed_part(how) == sim::millimetres(850));
    how.height_um = 874'999;
    CHECK(sim::fixed_part(how) == Length{850'000'400'000});
    how.height_um = 0;
    CHECK(sim::fixed_part(how) == sim::millimetres(1200));
    CHECK(sim::fixed_part(curtain(40'000)) == sim::millimetres(208));
    CHECK(sim::fixed_part(curtain(40'001)) == sim::millimetres(850));
    CHECK(sim::fixed_part(curtain(70'000)) == sim::millimetres(850));
}

TEST_CASE("reaching over: the larger of both results counts") {
    DistanceCase how = curtain(14'000);
    how.reaching_over_um = 400'000;
    CHECK(sim::needed_length(how, milliseconds(40)) == sim::millimetres(480));
    // 2000 mm/s * 100 ms + 400 mm are over 500 mm: 1600 mm/s
    CHECK(sim::needed_length(how, milliseconds(100)) == sim::millimetres(560));
    how.reaching_over_um = 0;
    CHECK(sim::needed_length(how, milliseconds(100)) == sim::millimetres(200));
    CHECK(any_has(sim::needed_distance(curtain(14'000), milliseconds(1)).cautions, "Reaching over"));
}

TEST_CASE("what is wrong with a case is told by its key") {
    CHECK(key_of_fault(curtain(70'001)) == "resolution");
    CHECK(key_of_fault(curtain(0)) == "resolution");
    CHECK(key_of_fault(curtain(-14'000)) == "resolution");
    CHECK(key_of_fault({.approach = Approach::right_angle}) == "resolution");
    CHECK(key_of_fault({.approach = Approach::parallel}) == "height");
    CHECK(key_of_fault({.approach = Approach::parallel, .height_um = 1'000'001}) == "height");
    CHECK(key_of_fault({.approach = Approach::parallel, .height_um = -1}) == "height");
    // H >= 15 * (d - 50 mm)
    CHECK(key_of_fault({.approach = Approach::parallel, .resolution_um = 70'000, .height_um = 299'999}) == "height");
    CHECK(key_of_fault({.approach = Approach::parallel, .resolution_um = 70'000, .height_um = 300'000}).empty());
    CHECK(key_of_fault({.approach = Approach::mat, .height_um = 1}) == "height");
    CHECK(key_of_fault({.approach = Approach::mat, .resolution_um = 1}) == "resolution");
    CHECK(key_of_fault({.approach = Approach::two_hand, .reaching_over_um = 1}) == "reaching_over");
    CHECK(key_of_fault({.approach = Approach::interlocked_guard}) == "reaching_through");
    CHECK(key_of_fault({.approach = Approach::mat, .supplement_um = 1}) == "supplement");
}

TEST_CASE("crawling below a field is a caution above 300 mm in 2010 and above 200 mm in 2024") {
    for (const auto& [edition, height_mm, warned] : {std::tuple{Edition::iso_13855_2010, 300, false},
                                                     {Edition::iso_13855_2010, 301, true},
                                                     {Edition::iso_13855_2024, 200, false},
                                                     {Edition::iso_13855_2024, 201, true}}) {
        const DistanceCase how{
            .edition = edition, .approach = Approach::parallel, .height_um = std::int64_t{height_mm} * 1000};
        CHECK(any_has(sim::needed_distance(how, milliseconds(100)).cautions, "crawl") == warned);
    }
}

TEST_CASE("lengths are exact in text and rounded up for people") {
    CHECK(sim::written(sim::millimetres(796)) == "796 mm");
    CHECK(sim::written(Length{246'001'600'000}) == "246.0016 mm");
    CHECK(sim::written(Length{-1'500'000'000}) == "-1.5 mm");
    CHECK(sim::whole_mm_up(sim::millimetres(246)) == 246);
    CHECK(sim::whole_mm_up(Length{246'000'000'001}) == 247);
    CHECK(sim::whole_mm_up({}) == 0);
}
