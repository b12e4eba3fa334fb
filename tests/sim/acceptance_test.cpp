#include "sim/studies/acceptance.hpp"

#include <doctest/doctest.h>

#include "sim/reading/read.hpp"
#include "sim/studies/acceptance_checks.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::Cause;
using proto::End;
using proto::microseconds;
using proto::milliseconds;
using sim::AcceptanceAct;
using Kind = AcceptanceAct::Kind;

sim::Scenario shipped(const std::string& name) {
    return sim::read_scenario(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/" + name).value();
}

TEST_CASE("a pulled cable has a limit of its own: longest delay, two scans, a watchdog, the stop") {
    const sim::Scenario press = shipped("veneer_press/all_errors.toml");
    const sim::ActLimits limits = sim::limits_of_act(press, {.kind = Kind::cut});
    // 0.35 + 2 * 2 + 45 + 130 ms, by hand; the longest exchange is 0.35 + 2 + 0.35 + 10 ms
    CHECK(limits.machine_at_most == microseconds(179'350));
    CHECK(limits.link_at_least == microseconds(45'000 - 12'700));
    CHECK(limits.end_at_most[0] == microseconds(350 + 2 * 10'000 + 45'000));
    // a demand may find the link at its worst: 20 + 2 * 45 + 2 + 130 ms
    const sim::ActLimits demand = sim::limits_of_act(press, {.kind = Kind::demand, .safeguard = "front_curtain"});
    CHECK(demand.machine_at_most == milliseconds(242));
    CHECK_FALSE(demand.link_at_least.has_value());
    // whoever switches the output's own end off waits for nothing but the stop
    CHECK(sim::limits_of_act(press, {.kind = Kind::power_off, .end = End::device}).machine_at_most ==
          milliseconds(130));
    CHECK(sim::limits_of_act(press, {.kind = Kind::power_off, .end = End::controller}).machine_at_most ==
          microseconds(179'350));
}

TEST_CASE("no rehearsal of an act takes longer than its limit, or less than its lower one") {
    unsigned compared = 0;
    for (const std::string& file : tests::shipped_scenarios(LINKDRILL_SOURCE_DIR)) {
        INFO(file);
        sim::Scenario s = sim::read_scenario(file).value();
        s.stopping.measured.clear();  // the simulated machine stops as it is described, not as one was measured
        std::vector<AcceptanceAct> acts{{.kind = Kind::cut},
                                        {.kind = Kind::power_off, .end = End::controller},
                                        {.kind = Kind::power_off, .end = End::device}};
        for (const sim::Safeguard& guard : s.safeguards)
            for (const Kind kind : {Kind::demand, Kind::demand_in_cut})
                acts.push_back({.kind = kind, .safeguard = guard.name});
        for (const AcceptanceAct& act : acts) {
            const sim::ActLimits limits = sim::limits_of_act(s, act);
            const sim::ActSeen seen = sim::rehearse_act(s, act, 5);
            if (!seen.longest || !limits.machine_at_most) continue;
            ++compared;
            CHECK(*seen.longest <= *limits.machine_at_most);
            if (limits.link_at_least) CHECK(*seen.shortest >= *limits.link_at_least);
        }
    }
    CHECK(compared >= 20);
}

TEST_CASE("each act is rehearsed with the machine in motion, and the ends show why they stopped") {
    const sim::Scenario press = shipped("veneer_press/all_errors.toml");
    const sim::ActSeen cut = sim::rehearse_act(press, {.kind = Kind::cut}, 1);
    CHECK(cut.tried > 10);
    CHECK(cut.ran == cut.tried);
    CHECK(cut.stopped == cut.tried);
    for (const auto& causes : cut.causes) CHECK(causes == std::set<Cause>{Cause::time_expectation});
    const sim::ActSeen demand = sim::rehearse_act(press, {.kind = Kind::demand, .safeguard = "front_curtain"}, 1);
    CHECK(demand.stopped == demand.tried);
    for (const auto& causes : demand.causes) CHECK(causes.empty());
    // the press has no reduced speed
    const AcceptanceAct slowly{
        .kind = Kind::demand, .safeguard = "front_curtain", .speed = AcceptanceAct::Speed::reduced};
    CHECK(sim::rehearse_act(press, slowly, 1).tried == 0);
}

TEST_CASE("with signals exchanged at one end a demand does not stop the machine, and the rehearsal shows it") {
    const sim::Scenario swapped = shipped("glass_table/swapped_bits.toml");
    bool missed = false;
    for (const sim::Safeguard& guard : swapped.safeguards) {
        const sim::ActSeen seen = sim::rehearse_act(swapped, {.kind = Kind::demand, .safeguard = guard.name}, 1);
        CHECK(seen.ran == seen.tried);
        missed = missed || seen.stopped < seen.ran;
    }
    CHECK(missed);
    // ends that disagree run nothing
    const sim::Scenario differ = shipped("glass_table/four_settings_differ.toml");
    CHECK(sim::rehearse_act(differ, {.kind = Kind::cut}, 1).ran == 0);
}

TEST_CASE("a held button brings no link back, a press after the request does, and the machine stays where it is") {
    for (const char* file : {"veneer_press/all_errors.toml", "stage_lift/streaming_errors.toml"}) {
        INFO(file);
        const sim::AcknowledgementSeen seen = sim::rehearse_acknowledgement(shipped(file), 1);
        CHECK(seen.stays_without);
        CHECK(seen.stays_when_held);
        CHECK(seen.resumes_when_asked);
        CHECK(seen.machine_stays);
    }
}

}  // namespace
