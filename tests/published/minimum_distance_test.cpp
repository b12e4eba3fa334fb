// Minimum distances against published rows.
#include "sim/timing/minimum_distance.hpp"

#include <doctest/doctest.h>

#include <cmath>

namespace {

using proto::milliseconds;
using sim::Approach;
using sim::DistanceCase;
using sim::Edition;

DistanceCase curtain(std::int64_t resolution_mm) {
    return {
        .edition = Edition::iso_13855_2010, .approach = Approach::right_angle, .resolution_um = resolution_mm * 1000};
}

double inches(sim::Length length) { return static_cast<double>(length.pm) / 1e9 / 25.4; }

}  // namespace

// ISO 13855:2010, its example of a light curtain (from memory of the standard): 60 ms for the machine and 30 ms for the
// curtain.
TEST_CASE("ISO 13855:2010 example: 60 ms and 30 ms need 180 mm at 14 mm and 308 mm at 30 mm") {
    CHECK(sim::needed_length(curtain(14), milliseconds(90)) == sim::millimetres(180));
    CHECK(sim::needed_length(curtain(30), milliseconds(90)) == sim::millimetres(308));
    CHECK(sim::needed_distance(curtain(30), milliseconds(90)).formula ==
          "S = 2000 mm/s * 90 ms + 8 * (30 mm - 14 mm) = 308 mm");
}

// OSHA, machine guarding eTool, chart of safety distances (29 CFR 1910.217): 63 in/s, cut to whole milliseconds. 63
// in/s are 1600.2 mm/s, the walking and reaching speed of ISO 13855 in whole mm/s; a two-hand control adds 250 mm here.
TEST_CASE("OSHA's chart at 63 inches per second agrees with K of 1600 mm/s within its cut") {
    struct Row {
        std::int64_t ms;
        double inches;
    };
    for (const Row row : {Row{55, 3.5}, Row{95, 6.0}, Row{317, 20.0}}) {
        const DistanceCase two_hand{.edition = Edition::iso_13855_2010, .approach = Approach::two_hand};
        const sim::Length covered = sim::needed_length(two_hand, milliseconds(row.ms)) - sim::millimetres(250);
        CHECK(std::abs(inches(covered) - row.inches) < 0.063);
    }
}

// Own calculation by the rule of 6.2.3 (2010): over 500 mm with 2000 mm/s, under 500 mm with 1600 mm/s.
TEST_CASE("the two steps: 300 ms give 600, then 480, then 500 mm") {
    const sim::Distance found = sim::needed_distance(curtain(14), milliseconds(300));
    CHECK(found.needed == sim::millimetres(500));
    CHECK(found.formula.find("= 600 mm") != std::string::npos);
    CHECK(found.formula.find("= 480 mm, but at least 500 mm") != std::string::npos);
}

// Public commentary on ISO 13855:2024: parallel approach 1200 mm whatever the height, two-hand control 550 mm.
TEST_CASE("the edition of 2024 differs in parallel approach and two-hand control, and says where that is known from") {
    DistanceCase how{.edition = Edition::iso_13855_2024, .approach = Approach::two_hand};
    CHECK(sim::needed_length(how, milliseconds(100)) == sim::millimetres(160 + 550));
    CHECK(sim::needed_distance(how, milliseconds(100)).cautions.front().find("commentary only") != std::string::npos);
    how = {.edition = Edition::iso_13855_2024, .approach = Approach::parallel, .height_um = 250'000};
    CHECK(sim::needed_length(how, milliseconds(100)) == sim::millimetres(160 + 1200));
    how.edition = Edition::iso_13855_2010;
    CHECK(sim::needed_length(how, milliseconds(100)) == sim::millimetres(160 + 1100));
}

// 10 ms more of watchdog are 20 ms more of response: 32 mm at 1600 mm/s, 40 mm at 2000 mm/s.
TEST_CASE("10 ms more of overall time cost 16 mm or 20 mm") {
    const DistanceCase mat{.edition = Edition::iso_13855_2010, .approach = Approach::mat};
    CHECK(sim::needed_length(mat, milliseconds(110)) - sim::needed_length(mat, milliseconds(100)) ==
          sim::millimetres(16));
    CHECK(sim::needed_length(curtain(14), milliseconds(110)) - sim::needed_length(curtain(14), milliseconds(100)) ==
          sim::millimetres(20));
}
