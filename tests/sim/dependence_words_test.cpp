#include "sim/numeric/dependence_words.hpp"

#include <doctest/doctest.h>

#include "sim/numeric/dependence.hpp"

namespace {

sim::Dependence quiet() {
    sim::Dependence found;
    found.count = 5000;
    found.runs = {.above = 2500, .below = 2500, .runs = 2490, .expected = 2501.0, .z = -0.3, .p = 0.76};
    found.correlations = {.by_lag = {0.013, 0.002}, .q = 0.9, .p = 0.64};
    found.late = sim::ClusterTest{.exceedances = 50,
                                  .above = {1},
                                  .runs = 49,
                                  .runs_expected = 49.5,
                                  .runs_p = 0.9,
                                  .extremal_index = 0.97,
                                  .intervals_p = 0.8,
                                  .clusters = 49,
                                  .longest_cluster = 2};
    found.p_asked = 0.0125;
    found.verdict = sim::DependenceVerdict::independent_as_far_as_seen;
    found.block_length = 2;
    return found;
}

}  // namespace

TEST_CASE("each verdict is said in a sentence, with what it rests on") {
    sim::Dependence found = quiet();
    CHECK(sim::in_words(found) ==
          "The measured times show no dependence on their neighbours, as far as 5000 of them can tell.");
    found.verdict = sim::DependenceVerdict::dependent;
    found.runs.p = 1e-9;
    found.late->runs_p = 0.001;
    found.late->runs = 30;
    CHECK(sim::in_words(found) ==
          "The measured times depend on their neighbours: times over and under the median come in long runs; long ones "
          "come one right after another.");
    found.runs.z = 4.0;
    found.late->runs_p = 0.5;
    found.late->intervals_p = 1e-5;
    found.late->extremal_index = 1.0;
    CHECK(
        sim::in_words(found) ==
        "The measured times depend on their neighbours: times over and under the median alternate too often; long ones "
        "come too evenly.");
    found.verdict = sim::DependenceVerdict::too_few;
    CHECK(sim::in_words(found).find("too many of them are equal") != std::string::npos);
    found.count = 150;
    CHECK(sim::in_words(found).find("cannot be told from 150 of them; it takes 200.") != std::string::npos);
}

TEST_CASE("the figures are said a sentence each") {
    const auto lines = sim::figures_in_words(quiet());
    REQUIRE(lines.size() == 4);
    CHECK(lines[0] == "Runs over and under the median: 2490, 2501 expected (p 0.76).");
    CHECK(lines[1] == "Rank correlation with the time before: 0.01; of lags 1 to 2 together p 0.64.");
    CHECK(
        lines[2] ==
        "The longest 50 come in 49 groups, 50 expected (p 0.9); extremal index 0.97 (p 0.8), the longest cluster spans "
        "2 times.");
    CHECK(lines[3] == "What hangs together spans up to 2 times.");
    CHECK(sim::figures_in_words({}).size() == 1);
    CHECK(sim::p_in_words(1e-5) == "under 0.0001");
}
