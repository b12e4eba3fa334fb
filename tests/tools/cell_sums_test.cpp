// Figures of a whole cell as sums over its links, against sums by hand.
#include <doctest/doctest.h>

#include <cmath>
#include <string>
#include <vector>

#include "sim/reading/read_cell.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "tests/support/close.hpp"
#include "tools/endurance/cell_endurance.hpp"
#include "tools/residual/cell_residual.hpp"

namespace {

using tools::EnduranceVerdict;

sim::WholeCell glass_line() {
    auto cell = sim::read_cell(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/glass_line/cell.toml");
    REQUIRE(cell);
    return std::move(cell).value();
}

constexpr double seconds_a_year = 365.25 * 86400.0;

/// Years of a link that stopped so often and stood for no time, within a limit of its own.
sim::EnduranceResult years_with(double years, std::uint64_t stops) {
    sim::EnduranceResult result;
    result.method = sim::EnduranceMethod::event_loop;
    result.parts_wanted = result.parts_done = 1;
    result.seconds = years * seconds_a_year;
    result.cycles = 1'000'000;
    result.trips[0].by_watchdog = stops;
    return result;
}

tools::CellEndurance endurance_of(const sim::WholeCell& cell, const std::vector<sim::EnduranceResult>& results) {
    std::vector<tools::EnduranceFinding> found;
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        found.push_back(tools::finding_of(cell.links[i].alone, results[i], {}, 1, results[i].seconds / seconds_a_year));
    return tools::finding_of(cell, std::move(found));
}

sim::MethodResult method(double rate, double share) {
    return {"older", "a source", "from memory", rate, share, rate < share, "by itself"};
}

}  // namespace

TEST_CASE("endurance of a cell: rates add up, and the sum is held against the limit of the file") {
    sim::WholeCell cell = glass_line();
    for (sim::CellLink& link : cell.links) link.alone.trip_limit = {.per_year = 1.0, .stated = true};
    // 2, 5 and 1 stops in 10 years: 0.8 a year together, 0.5 of them by the second link
    const std::vector<sim::EnduranceResult> results{years_with(10, 2), years_with(10, 5), years_with(10, 1)};
    const tools::CellEndurance found = endurance_of(cell, results);
    CHECK(tests::close_to(found.per_year, 0.8, 1e-12));
    REQUIRE(found.stops_most);
    CHECK(*found.stops_most == 1);
    // Garwood's exact limits of a count of 8, by the chi-square quantiles of scipy 1.10: 3.4538 and 15.7632
    CHECK(tests::close_to(found.interval.low, 0.34538, 1e-4));
    CHECK(tests::close_to(found.interval.high, 1.57632, 1e-4));
    CHECK(!found.of_sum);  // nothing is stated for it

    cell.trip_limit = {.per_year = 0.7, .stated = true};
    const tools::CellEndurance over = endurance_of(cell, results);
    REQUIRE(over.of_sum);
    CHECK(*over.of_sum == EnduranceVerdict::fail);  // although each link keeps its own
    CHECK(over.verdict == EnduranceVerdict::fail);
    for (const tools::EnduranceFinding& link : over.links) CHECK(link.verdict != EnduranceVerdict::fail);
    cell.trip_limit.per_year = 1.5;
    CHECK(*endurance_of(cell, results).of_sum == EnduranceVerdict::undecided);
    cell.trip_limit.per_year = 1.6;
    CHECK(*endurance_of(cell, results).of_sum == EnduranceVerdict::pass);
}

TEST_CASE("endurance of a cell: what a link stood still makes the sum no better") {
    sim::WholeCell cell = glass_line();
    cell.trip_limit = {.per_year = 1.0, .stated = true};
    std::vector<sim::EnduranceResult> results{years_with(10, 0), years_with(10, 6), years_with(10, 0)};
    CHECK(*endurance_of(cell, results).of_sum == EnduranceVerdict::undecided);
    // the same stops in half the running time are twice as many a year
    results[1].seconds_stopped = results[1].seconds / 2;
    const tools::CellEndurance found = endurance_of(cell, results);
    CHECK(tests::close_to(found.per_year, 0.6, 1e-12));
    CHECK(tests::close_to(found.per_running_year, 1.2, 1e-12));
    CHECK(*found.of_sum == EnduranceVerdict::fail);
    // of one that never ran nothing is said
    results[0].link_started = false;
    CHECK(!endurance_of(cell, results).of_sum);
    CHECK(endurance_of(cell, results).verdict != EnduranceVerdict::pass);
}

TEST_CASE("residual of a cell: a function crosses the links of its guards' ways, and no other") {
    const sim::WholeCell cell = glass_line();
    REQUIRE(cell.functions.size() == 3);
    using Links = std::vector<std::size_t>;
    CHECK(tools::links_of_function(cell, cell.functions[0]) == Links{0, 1});     // curtain: infeed, bridge
    CHECK(tools::links_of_function(cell, cell.functions[1]) == Links{0, 1, 2});  // rope: infeed to both machines
    CHECK(tools::links_of_function(cell, cell.functions[2]) == Links{2});        // flap: there and back on its own
}

TEST_CASE("residual of a cell: without a level the lowest claim of its links counts") {
    sim::WholeCell cell = glass_line();
    cell.functions[0].level.reset();                               // infeed and bridge
    cell.functions[2].level = {sim::FunctionLevel::Scale::pl, 1};  // PL a, which has no SIL: table
    for (sim::TypedEnd* end : {&cell.links[1].alone.controller, &cell.links[1].alone.device})
        end->link.claimed_level = 1;
    for (sim::TypedEnd* end : {&cell.links[2].alone.controller, &cell.links[2].alone.device})
        end->link.claimed_level = 3;
    tools::WeightsCache cache{std::string()};
    const tools::CellResidual found = tools::residual_of_cell(cell, {}, "older", cache, {.threads = 1});
    REQUIRE(found.functions.size() == 3);
    CHECK(found.functions[0].by_claim);
    CHECK(found.functions[0].sil == 1);
    CHECK(!found.functions[1].by_claim);
    CHECK(found.functions[1].sil == 2);
    CHECK(found.functions[2].by_claim);
    CHECK(found.functions[2].sil == 3);
    // 2.4e-8 an hour of two links, of which SIL 1 leaves 1e-7; 8.1e-9 of one, of which SIL 3 leaves 1e-9
    CHECK(found.functions[0].verdict == tools::LevelVerdict::met);
    CHECK(found.functions[2].verdict == tools::LevelVerdict::not_met);
    CHECK(!found.met());
}

TEST_CASE("residual of a cell: a guard whose demands cross no link leaves its function not met") {
    sim::WholeCell cell = glass_line();
    tools::WeightsCache cache{std::string()};
    const auto of = [&] { return tools::residual_of_cell(cell, {}, "rate limit", cache, {.threads = 1}); };
    cell.functions.pop_back();
    cell.functions.erase(cell.functions.begin() + 1);
    CHECK(of().met());
    // the flap stops the table only, and this function is about the bridge
    cell.functions[0].safeguards.emplace_back("table_flap");
    CHECK(tools::guards_without_way(cell, cell.functions[0]) == std::vector<std::string>{"table_flap"});
    CHECK(!of().met());
    CHECK(of().functions[0].why.find("table_flap") != std::string::npos);
    CHECK(!of().functions[0].links.empty());
    cell.functions[0].safeguards = {"table_flap"};
    CHECK(!of().met());
    CHECK(of().functions[0].links.empty());
    CHECK(of().functions[0].verdict == tools::LevelVerdict::not_met);
    CHECK(of().functions[0].why == "its demands cross no link");
    cell.functions.clear();
    CHECK(!of().met());
}

TEST_CASE("residual of a cell: rates of links add up against one share") {
    const sim::MethodResult two =
        tools::added_over_links({{"a", method(3e-9, 1e-8)}, {"b", method(4e-9, 1e-8)}}, false);
    REQUIRE(two.rate_per_hour);
    CHECK(tests::close_to(*two.rate_per_hour, 7e-9, 1e-12));
    CHECK(two.met == true);
    // each keeps the share, three of them do not
    const std::vector<std::pair<std::string, sim::MethodResult>> three{
        {"a", method(3e-9, 1e-8)}, {"b", method(4e-9, 1e-8)}, {"c", method(3.5e-9, 1e-8)}};
    CHECK(tools::added_over_links(three, false).met == false);
    CHECK(!tools::added_over_links(three, true).met);  // upper bounds decide nothing when they are over it
    // a link without a rate leaves the sum without one
    sim::MethodResult without = method(1e-9, 1e-8);
    without.rate_per_hour.reset();
    without.met.reset();
    without.why = "no rate because of that";
    const sim::MethodResult none = tools::added_over_links({{"a", method(1e-9, 1e-8)}, {"b", without}}, false);
    CHECK(!none.rate_per_hour);
    CHECK(!none.met);
    CHECK(none.why == "no rate because of that");
}

TEST_CASE("residual of a cell: the sum of a function is that of its links alone") {
    const sim::WholeCell cell = glass_line();
    tools::WeightsCache cache{std::string()};
    const tools::ResidualQuestion question;
    const tools::CellResidual found = tools::residual_of_cell(cell, question, "", cache, {.threads = 1});
    REQUIRE(found.functions.size() == 3);
    std::vector<tools::LinkResidual> alone;
    for (const sim::CellLink& link : cell.links) {
        sim::Scenario asked = link.alone;  // by the link's claim, which is SIL 2 too
        asked.functions.clear();
        alone.push_back(tools::residual_of_link(asked, question, cache, {.threads = 1}));
    }
    for (const tools::FunctionResidual& function : found.functions) {
        CAPTURE(cell.functions[function.function].name);
        CHECK(function.sil == 2);
        for (std::size_t m = 0; m < function.methods.size(); ++m) {
            double sum = 0;
            for (const tools::CrossedLink& link : function.links)
                for (const tools::WayResidual& way : alone[link.link].ways)
                    sum += way.study.methods[m].rate_per_hour.value_or(0);
            REQUIRE(function.methods[m].rate_per_hour);
            CHECK(tests::close_to(*function.methods[m].rate_per_hour, sum, 1e-12));
            // 1 % of 1e-6 an hour
            CHECK(tests::close_to(*function.methods[m].share_per_hour, 1e-8, 1e-12));
            CHECK(function.methods[m].met == (sum < 1e-8));
        }
    }
}
