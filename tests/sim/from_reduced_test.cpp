// A distance that counts from reduced speed: what it takes, and that nothing less will do. In check, response, the
// watchdog's limit, a run and the acceptance test it is one answer.
#include "sim/timing/from_reduced.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <functional>
#include <string>
#include <vector>

#include "sim/drive/rehearsal.hpp"
#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/studies/acceptance.hpp"
#include "sim/studies/acceptance_study.hpp"
#include "sim/studies/function_check.hpp"
#include "sim/timing/function_time.hpp"

namespace {

using proto::Duration;
using proto::microseconds;
using proto::milliseconds;
using proto::seconds;
using sim::FunctionTime;
using sim::Scenario;
using sim::StopCategory;
using Binds = FunctionTime::Binds;

constexpr std::size_t inner = 0, outer = 2;

sim::GuardDistance guard_at(std::int64_t there_mm, std::int64_t reaching_through_um) {
    return {.safeguard = "",
            .how = {.edition = sim::Edition::iso_13855_2010,
                    .approach = sim::Approach::interlocked_guard,
                    .reaching_through_um = reaching_through_um},
            .there_um = there_mm * 1000,
            .where = {}};
}

/// The log debarker that ships. Before the flap and the pit door, 400 mm away, stands the guard of the outer function,
/// far enough away: 114 ms after its demand the drive has the command (20 ms sensor, 2 * 45 + 4 ms link), and a drive
/// that does not slow down is slow after 20 + 212.5 ms, 20 ms of its monitor and 20 + 212.5 ms: 599 ms in all, for
/// which 1600 mm/s * 599 ms + 10 mm = 968.4 mm are needed.
Scenario debarker(std::int64_t way_mm = 969) {
    Scenario s = sim::read_scenario(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/log_debarker/guards.toml").value();
    s.functions[inner].distance = guard_at(400, 60'000);
    s.functions[inner].must[0].within = milliseconds(600);
    s.functions[inner].slowed_by = s.functions[outer].name;
    s.functions[outer].distance = guard_at(400 + way_mm, 10'000);
    return s;
}

FunctionTime inner_time(const Scenario& s) { return sim::time_of(s, inner, 0, "pit_door"); }

bool any_has(const std::vector<std::string>& all, const std::string& words) {
    return std::any_of(all.begin(), all.end(),
                       [&](const std::string& one) { return one.find(words) != std::string::npos; });
}

}  // namespace

TEST_CASE("behind a guard that slows the machine down in time the stop is that from reduced speed") {
    const FunctionTime time = inner_time(debarker());
    REQUIRE(time.from_reduced.counts());
    CHECK(time.from_reduced.um_s == 130'000);  // 120 mm/s, and 10 mm/s that the monitor lets pass
    CHECK(time.from_reduced.slowed == milliseconds(599));
    CHECK(time.from_reduced.way == sim::millimetres(969));
    CHECK(time.from_reduced.way_needed == sim::micrometres(968'400));
    CHECK(time.from_reduced.stopping == milliseconds(20 + 65));  // 130 mm/s at 2000 mm/s2
    CHECK(time.response.stopping == milliseconds(420));          // from full speed, as ever
    CHECK(time.binds == Binds::distance);
    CHECK(time.limit() == microseconds(212'500));  // (400 - 60) / 1600
    CHECK(time.overall() == milliseconds(15 + 94 + 85));
    CHECK(time.spare() == microseconds(18'500));
    CHECK(time.left_for_link() == microseconds(212'500) - milliseconds(100));
    REQUIRE(time.needed);
    CHECK(time.needed->needed == sim::micrometres(370'400));
    CHECK(time.kept);
    CHECK(sim::limit_in_words(time) == "the 212.5 ms that the distance of 400 mm leaves from 130 mm/s");
    const sim::FunctionCheck check = sim::check_functions(debarker());
    CHECK(check.ok());
    CHECK(any_has(check.reckoned, "the distance of pit_door counts from 130 mm/s"));
    CHECK_FALSE(any_has(check.cautions, "counts from full speed"));
}

TEST_CASE("a millimetre less between both guards, and the stop is that from full speed, with the reason") {
    const Scenario s = debarker(968);
    const FunctionTime time = inner_time(s);
    CHECK_FALSE(time.from_reduced.counts());
    CHECK(time.from_reduced.why ==
          "speed_selector is 968 mm farther away, and until the reduced speed, 599 ms at worst, 969 mm are needed");
    CHECK(time.overall() == milliseconds(15 + 94 + 420));
    CHECK_FALSE(time.kept);
    const sim::FunctionCheck check = sim::check_functions(s);
    CHECK_FALSE(check.ok());
    CHECK(any_has(check.cautions, "the distance of pit_door counts from full speed, not from reduced speed after"));
    CHECK(check.reckoned.empty());
}

TEST_CASE("each thing that makes it uncertain makes it count from full speed") {
    struct Row {
        const char* why;
        std::function<void(Scenario&)> change;
    };
    const Row rows[] = {
        {"there is no such function", [](Scenario& s) { s.functions[inner].slowed_by = "another"; }},
        {"there is no such function", [](Scenario& s) { s.functions[inner].slowed_by = s.functions[inner].name; }},
        {"does not ask for a reduced speed of rollers",
         [](Scenario& s) { s.functions[outer].must[0].must = StopCategory::category_2; }},
        {"nothing monitors the reduced speed of rollers",
         [](Scenario& s) { s.machine->reduced_speed_monitor.reset(); }},
        {"does not say hazard_ends", [](Scenario& s) { s.functions[outer].reduced_speed_ends_hazard = false; }},
        {"at reduced speed its hazard has ended already",
         [](Scenario& s) { s.functions[inner].reduced_speed_ends_hazard = true; }},
        {"asks for no more than a reduced speed itself",
         [](Scenario& s) { s.functions[inner].must[0].must = StopCategory::reduced_speed; }},
        {"nothing says how far away speed_selector is", [](Scenario& s) { s.functions[outer].distance.reset(); }},
        {"nothing says how far away speed_selector is",
         [](Scenario& s) { s.functions[outer].distance->there_um = {}; }},
        {"speed_selector may be muted",
         [](Scenario& s) {
             s.signals[2].muted_by = sim::Muting{"flap", "pit_door", seconds(1), seconds(2)};
         }},
        {"the full speed returns by itself when speed_selector is free again",
         [](Scenario& s) { s.functions[outer].returns = sim::Returns::by_itself; }},
        {"the stop was measured from full speed only",
         [](Scenario& s) {
             s.stopping.measured = {milliseconds(300), milliseconds(310)};
         }},
        {"speed_selector reaches no reaction of the machine", [](Scenario& s) { s.machine->reactions.pop_back(); }},
        {"is not asked in the mode setting up",
         [](Scenario& s) {
             s.modes = {{.name = "running", .where = {}}, {.name = "setting up", .where = {}}};
             s.functions[outer].in_mode = {"running"};
         }},
    };
    for (const Row& row : rows) {
        Scenario s = debarker();
        row.change(s);
        const FunctionTime time = inner_time(s);
        CAPTURE(row.why);
        CHECK(time.from_reduced.asked);
        CHECK(time.from_reduced.why.find(row.why) != std::string::npos);
        CHECK_FALSE(time.binds_from_reduced());
        CHECK(time.overall() == time.response.overall);
        CHECK_FALSE(time.kept);
    }
    // a guard that sees whoever stands behind it may give the speed back by itself
    Scenario field = debarker();
    field.functions[outer].returns = sim::Returns::by_itself;
    field.safeguards[3].kind = sim::GuardKind::field;
    CHECK(inner_time(field).from_reduced.counts());
}

TEST_CASE("within counts from full speed, whatever the distance counts from") {
    Scenario s = debarker();
    s.functions[inner].must[0].within = milliseconds(529);  // 15 + 94 + 420
    CHECK(inner_time(s).binds == Binds::within);
    CHECK(inner_time(s).kept);
    CHECK(sim::check_functions(s).ok());  // longer than the 212.5 ms of the distance, which are of another speed
    s.functions[inner].must[0].within = milliseconds(528);
    CHECK_FALSE(inner_time(s).kept);
    CHECK(inner_time(s).why.find("529 ms from the demand to the end of the hazard, over within = 528 ms") == 0);
}

TEST_CASE("the longest watchdog keeps both distances: the way to the outer guard and the stop of the inner one") {
    const Scenario shortest = debarker(), far = debarker(5000);
    // two watchdogs fit into what is left: 0.375 ms by the way to the outer guard, 18.5 ms by the inner one
    const auto near_watchdog = sim::longest_watchdog_for(shortest, inner);
    REQUIRE(near_watchdog);
    CHECK(*near_watchdog == microseconds(45'187));  // (969 - 10) / 1.6 = 599.375 ms
    const auto far_watchdog = sim::longest_watchdog_for(far, inner);
    REQUIRE(far_watchdog);
    CHECK(*far_watchdog == microseconds(45'000 + 9'250));
    for (const Scenario& s : {shortest, far}) {
        const Duration longest = *sim::longest_watchdog_for(s, inner);
        CHECK(inner_time(sim::with_watchdog(s, longest)).kept);
        CHECK_FALSE(inner_time(sim::with_watchdog(s, longest + microseconds(1))).kept);
    }
}

TEST_CASE("seen by a function: only the limit that binds, and the speed that it counts from") {
    Scenario s = debarker();
    FunctionTime time = inner_time(s);
    Scenario seen = sim::seen_by(s, time);
    CHECK(sim::response_of(seen).overall == time.overall());
    CHECK_FALSE(seen.required.overall);
    CHECK(sim::tables_kept(seen, sim::response_of(seen)).kept);
    s.functions[inner].must[0].within = milliseconds(529);
    time = inner_time(s);
    seen = sim::seen_by(s, time);
    CHECK(sim::response_of(seen).overall == time.response.overall);
    CHECK(seen.required.overall == milliseconds(529));
    CHECK(sim::tables_kept(seen, sim::response_of(seen)).kept);
}

TEST_CASE("a run holds each demand of the guard against what the distance leaves, and says which speed it was") {
    Scenario s = debarker();
    s.functions[inner].must[0].within = milliseconds(600);
    s.faults.clear();
    s.operator_acts.erase(
        std::remove_if(s.operator_acts.begin(), s.operator_acts.end(),
                       [](const sim::OperatorAct& act) { return act.event == sim::OperatorAct::Event::time; }),
        s.operator_acts.end());
    s.duration = seconds(6);
    s.demands = {{"speed_selector", seconds(2), seconds(3), {}}, {"pit_door", seconds(3), seconds(1), {}}};
    sim::RunResult result = sim::rehearse(s, 11);
    REQUIRE(result.function_rows.size() == 2);
    CHECK(result.function_rows[1].met == sim::Met::yes);
    CHECK(result.function_rows[1].allowed == microseconds(212'500 - 15'000));
    s.demands = {{"pit_door", seconds(3), seconds(1), {}}};
    result = sim::rehearse(s, 11);
    REQUIRE(result.function_rows.size() == 1);
    CHECK(result.function_rows[0].met == sim::Met::no);
    CHECK(result.function_rows[0].why.find(", at full speed: its distance counts once \"turning the selector") !=
          std::string::npos);
}

TEST_CASE("on the sheet the distance limits the row at reduced speed, and within that at full speed") {
    const Scenario s = debarker();
    sim::AcceptanceAct act{.kind = sim::AcceptanceAct::Kind::demand, .safeguard = "pit_door", .function = inner};
    CHECK(sim::limits_of_act(s, act).machine_at_most == milliseconds(600));
    act.speed = sim::AcceptanceAct::Speed::reduced;
    const sim::ActLimits slow = sim::limits_of_act(s, act);
    CHECK(slow.machine_at_most == microseconds(212'500));
    CHECK(slow.by_settings == milliseconds(15 + 94 + 85));
    CHECK(slow.reckoned.find("its distance counts from 130 mm/s") != std::string::npos);
    sim::AcceptanceStudy study = sim::study_acceptance(s, 5);
    REQUIRE(study.function_distances[inner]);
    CHECK(study.function_distances[inner]->needed == sim::micrometres(370'400));
    for (const sim::RehearsedAct& row : study.demands) {
        CAPTURE(row.act.safeguard);
        CHECK(row.passes.passes == true);  // a plant that is right passes its own sheet
    }
    // and where it does not, both rows, with the reason
    const Scenario near = debarker(968);
    for (const auto speed : {sim::AcceptanceAct::Speed::full, sim::AcceptanceAct::Speed::reduced}) {
        act.speed = speed;
        CHECK(sim::limits_of_act(near, act).machine_at_most == microseconds(212'500));
        CHECK(sim::limits_of_act(near, act).reckoned.find("counts from full speed, not from reduced") !=
              std::string::npos);
    }
}
