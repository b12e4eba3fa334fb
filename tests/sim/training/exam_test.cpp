// An exam asks for one drill of each family in which a healthy link and a broken one look alike, and for two more.
#include <doctest/doctest.h>

#include <algorithm>
#include <optional>
#include <set>
#include <string>

#include "sim/reading/read_drill.hpp"
#include "sim/training/exam.hpp"
#include "tests/support/drills.hpp"

TEST_CASE("an exam is six different drills, one of each of its families, in any order") {
    const sim::DrillSet& set = tests::drills();
    std::set<unsigned> asked, first;
    for (std::uint64_t seed = 0; seed < 600; ++seed) {
        const std::vector<unsigned> exam = sim::exam_of(set, seed);
        REQUIRE(exam.size() == sim::exam_drills);
        CHECK(exam == sim::exam_of(set, seed));
        CHECK(std::set<unsigned>(exam.begin(), exam.end()).size() == exam.size());
        for (const char family : sim::exam_families)
            CHECK(std::any_of(exam.begin(), exam.end(), [&](unsigned n) { return set.find(n)->family == family; }));
        asked.insert(exam.begin(), exam.end());
        first.insert(exam.front());
    }
    CHECK(asked.size() == set.drills.size());
    CHECK(first.size() == set.drills.size());
}

TEST_CASE("an exam is passed if every drill is safe, and the cause is left open in one at most") {
    using enum sim::DrillResult;
    using sim::ExamVerdict;
    const auto verdict = [](sim::ExamResults results) { return sim::exam_verdict(results, 3); };
    CHECK(verdict({safe_and_found, safe_and_found, safe_and_found}) == ExamVerdict::passed);
    CHECK(verdict({safe_and_found, safe_not_found, safe_and_found}) == ExamVerdict::passed);
    CHECK(verdict({safe_not_found, safe_not_found, safe_and_found}) == ExamVerdict::too_few_found);
    CHECK(verdict({safe_and_found, nothing_read, safe_and_found}) == ExamVerdict::not_all_safe);
    CHECK(verdict({safe_and_found, not_secured, dangerous_action}) == ExamVerdict::dangerous_action);
    CHECK(verdict({safe_and_found, not_finished, safe_and_found}) == ExamVerdict::not_all_safe);
    CHECK(verdict({safe_and_found, safe_and_found}) == ExamVerdict::not_all_done);
    CHECK(verdict({}) == ExamVerdict::not_all_done);
    CHECK(verdict({safe_and_found, std::nullopt, safe_and_found}) == ExamVerdict::not_judged);
    CHECK(verdict({dangerous_action, std::nullopt}) == ExamVerdict::dangerous_action);
}

TEST_CASE("an exam of a small set is what there is") {
    sim::DrillSet set;
    CHECK(sim::exam_of(set, 1).empty());
    sim::Drill drill;
    drill.number = 4;
    drill.family = 'C';
    set.drills.push_back(drill);
    CHECK(sim::exam_of(set, 1) == std::vector<unsigned>{4});
}
