// The sheet walked row by row: a plant that is as it is written down passes each, one with something broken fails the
// row that is about it.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/studies/acceptance_study.hpp"
#include "sim/timing/function_time.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::milliseconds;
using sim::AcceptanceAct;
using sim::StopCategory;
using Kind = AcceptanceAct::Kind;
using Speed = AcceptanceAct::Speed;

sim::Scenario shipped(const std::string& name) {
    return sim::read_scenario(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/" + name).value();
}
sim::Scenario debarker() { return shipped("log_debarker/guards.toml"); }

/// A row of the sheet as it was rehearsed.
struct Walked {
    std::string row;
    std::optional<bool> passes;
    std::string why;
};

std::string name_of(const AcceptanceAct& act) {
    const char* const kinds[] = {"demand ", "demand in a cut ", "cut", "power off "};
    std::string name = kinds[static_cast<std::size_t>(act.kind)] + act.safeguard;
    if (!act.together_with.empty()) name += " with " + act.together_with;
    if (act.kind == Kind::power_off) name += act.end == proto::End::device ? "device" : "controller";
    return name + (act.speed == Speed::reduced ? " at reduced speed" : "");
}

std::vector<Walked> walk(const sim::Scenario& sheet, const sim::Scenario& plant) {
    const sim::AcceptanceStudy study = sim::study_acceptance({sheet, plant, 5});
    std::vector<Walked> rows;
    const auto check = [&](const char* what, const sim::RehearsedCheck& one) {
        const char* const channels[] = {"", " a", " b"};
        rows.push_back({what + sheet.safeguards[one.safeguard].name + channels[static_cast<std::size_t>(one.channel)],
                        one.passes.passes, one.passes.why});
    };
    const auto act = [&](const sim::RehearsedAct& one) {
        rows.push_back({name_of(one.act), one.passes.passes, one.passes.why});
    };
    for (const auto& one : study.looks) check("look ", one);
    for (const auto& one : study.wires) check("wire ", one);
    for (const auto& one : study.demands) act(one);
    for (const auto& one : study.free_again) check("free again ", one);
    act(study.cut);
    for (const auto& one : study.power_off) act(one);
    const sim::AcknowledgementSeen& seen = study.acknowledgement;
    std::optional<bool> held, pressed;
    if (seen.ran) {
        held = seen.stays_without && seen.stays_when_held;
        pressed = seen.resumes_when_asked && seen.machine_stays;
    }
    rows.push_back({"acknowledgement held", held, ""});
    rows.push_back({"acknowledgement", pressed, ""});
    for (const sim::RehearsedMistyped& one : study.mistyped)
        rows.push_back({"mistyped " + std::to_string(one.typed.what.index()), one.passes.passes, one.passes.why});
    return rows;
}
std::vector<Walked> walk(const sim::Scenario& plant) { return walk(plant, plant); }

std::vector<std::string> failed(const std::vector<Walked>& rows) {
    std::vector<std::string> names;
    for (const Walked& row : rows)
        if (row.passes == false) names.push_back(row.row);
    return names;
}
bool fails(const std::vector<Walked>& rows, const std::string& row, const std::string& why) {
    return std::any_of(rows.begin(), rows.end(), [&](const Walked& one) {
        return one.row == row && one.passes == false && one.why.find(why) != std::string::npos;
    });
}
using Names = std::vector<std::string>;

/// They ship to show what is wrong with them.
bool is_wrong(const std::string& file) {
    const Names wrong{"swapped_bits",        "speed_bytes_exchanged", "four_settings_differ", "forgotten_guard",
                      "exchanged_reactions", "reduced_speed_only",    "other_subnet"};
    return std::any_of(wrong.begin(), wrong.end(),
                       [&](const std::string& one) { return file.find(one) != std::string::npos; });
}

TEST_CASE("a plant that is as it is written down passes every row of its own sheet") {
    unsigned walked = 0, passed = 0;
    for (const std::string& file : tests::shipped_scenarios(LINKDRILL_SOURCE_DIR)) {
        if (is_wrong(file)) continue;
        INFO(file);
        ++walked;
        for (const Walked& row : walk(sim::read_scenario(file).value())) {
            INFO(row.row << ": " << row.why);
            CHECK(row.passes != false);
            // only what no scenario tells is left out: how a machine without power stops
            if (!row.passes) CHECK(row.why == "nothing in the scenario says how it stops without power");
            if (row.passes == true) ++passed;
        }
    }
    CHECK(walked >= 20);
    CHECK(passed >= 200);
}

TEST_CASE("of ends that differ nothing can be rehearsed, and no row says that it passed") {
    for (const Walked& row : walk(shipped("glass_table/four_settings_differ.toml"))) {
        INFO(row.row << ": " << row.why);
        CHECK_FALSE(row.passes.has_value());
    }
}

TEST_CASE("bits exchanged at one end are found by the rows that look, and by those that demand") {
    const auto rows = walk(shipped("glass_table/swapped_bits.toml"));
    CHECK_FALSE(failed(rows).empty());
    for (const sim::Safeguard& guard : shipped("glass_table/swapped_bits.toml").safeguards)
        CHECK(fails(rows, "look " + guard.name, "should fall"));
}

TEST_CASE("a guard that reaches no output has its rows, which fail and say so") {
    // by its own sheet: the wiring is as written, what the function asks is not there
    const auto own = walk(shipped("log_debarker/forgotten_guard.toml"));
    CHECK(fails(own, "demand pit_door", "pit_door reaches no output; DID NOT STOP in 40 of 40"));
    CHECK(fails(own, "demand pit_door at reduced speed", "pit_door reaches no output"));
    CHECK(fails(own, "free again pit_door", "was not standing"));
    CHECK_FALSE(fails(own, "demand flap", ""));
    // by the sheet of the plant as it should be
    const auto rows = walk(debarker(), shipped("log_debarker/forgotten_guard.toml"));
    CHECK(fails(rows, "look pit_door", "should fall: closed; fell as sent: none; as used: none"));
    CHECK(fails(rows, "wire pit_door", "should fall: closed"));
    CHECK(fails(rows, "demand pit_door", "reaches no output"));
    const Names all = failed(rows);
    CHECK(std::all_of(all.begin(), all.end(), [](const std::string& row) { return row.find("pit_door") != row.npos; }));
}

TEST_CASE("exchanged reactions fail the rows of each guard concerned, and no other") {
    const auto rows = walk(debarker(), shipped("log_debarker/exchanged_reactions.toml"));
    CHECK(fails(rows, "demand flap", "DID NOT STOP in 40 of 40"));
    CHECK(fails(rows, "demand pit_door", "DID NOT STOP in 40 of 40"));
    CHECK(fails(rows, "demand speed_selector", "stood in 40 of 40, and should only slow down"));
    CHECK(fails(rows, "free again flap", "was not standing"));
    CHECK_FALSE(fails(rows, "demand pull_cord", ""));
    CHECK_FALSE(fails(rows, "look flap", ""));
}

TEST_CASE("another stop category fails its row although the machine stands in time") {
    sim::Scenario plant = debarker();
    REQUIRE(plant.machine->reactions[1].stop == StopCategory::category_2);
    plant.machine->reactions[1].stop = StopCategory::category_1;
    const auto rows = walk(debarker(), plant);
    CHECK(fails(rows, "demand pull_cord", "by its wiring it is category-1, and category-2 is asked"));
}

TEST_CASE("a reduced speed that is not reached, or too late, fails the rows about it") {
    sim::Scenario fast = debarker();
    fast.machine->reduced_speed_um_s = 300'000;
    const auto rows = walk(debarker(), fast);
    CHECK(fails(rows, "demand speed_selector", "DID NOT COME DOWN TO 120 mm/s in 40 of 40"));
    CHECK(fails(rows, "free again speed_selector", "was not slow"));
    CHECK_FALSE(fails(rows, "demand flap", ""));

    sim::Scenario lazy = debarker();
    lazy.machine->ramp_um_s2 = 1'000'000;  // 680 ms from 800 to 120 mm/s; 600 are allowed with all
    CHECK(fails(walk(debarker(), lazy), "demand speed_selector", "OVER what is allowed"));
}

TEST_CASE("a link that fails to reduced speed alone does not pass where only a standstill ends the hazard") {
    const sim::Scenario only = shipped("log_debarker/reduced_speed_only.toml");
    const auto rows = walk(only);
    CHECK(fails(rows, "cut at reduced speed", "DID NOT STOP"));
    CHECK(fails(rows, "demand in a cut speed_selector", "DID NOT STOP"));
    CHECK_FALSE(fails(rows, "demand speed_selector", ""));
    sim::Scenario counts = only;
    counts.functions[0].reduced_speed_ends_hazard = true;
    CHECK(failed(walk(counts)) == Names{});
}

TEST_CASE("what gives the speed back is walked: a start, a reset, or nothing at all") {
    sim::Scenario by_itself = debarker();
    by_itself.functions[2].returns = sim::Returns::by_itself;
    CHECK(failed(walk(by_itself)) == Names{});
    // a plant that speeds up by itself where the sheet asks for a start, and the other way round
    CHECK(fails(walk(debarker(), by_itself), "free again speed_selector", "SPED UP as soon as the guard was free"));
    CHECK(fails(walk(by_itself, debarker()), "free again speed_selector", "did not speed up by itself"));

    sim::Scenario by_reset = debarker();
    by_reset.functions[2].returns = sim::Returns::after_reset;
    CHECK(failed(walk(by_reset)) == Names{});
    CHECK(fails(walk(by_reset, by_itself), "free again speed_selector", "without a reset"));

    sim::Scenario latched = debarker();
    latched.safeguards[0].latched = true;  // a reset that starts nothing
    CHECK(failed(walk(latched)) == Names{});
    CHECK(fails(walk(latched, debarker()), "free again flap", "without a reset"));
}

TEST_CASE("a row asks for no ramp while the power is off") {
    // the drive's own end without power: category 0, though the cord stops by a ramp and the cut link too
    sim::Scenario ramps = debarker();
    ramps.machine->reactions[0].stop = StopCategory::category_1;
    const AcceptanceAct off{.kind = Kind::power_off, .end = proto::End::device};
    CHECK(sim::asked_of_machine(ramps, off)->stop == StopCategory::category_0);
    // 20 ms drive, 800 mm/s at 2000 mm/s2
    CHECK(sim::limits_of_act(ramps, off).machine_at_most == milliseconds(420));
    CHECK(*sim::rehearse_act(ramps, off, 1).longest > milliseconds(400));
    // what has no braking of its own is not rehearsed, and nothing is promised
    ramps.machine->braking_um_s2 = 0;
    CHECK_FALSE(sim::limits_of_act(ramps, off).machine_at_most.has_value());
    CHECK(sim::rehearse_act(ramps, off, 1).tried == 0);
    // the controller without power: the drive has its own and ramps down
    const AcceptanceAct other{.kind = Kind::power_off, .end = proto::End::controller};
    CHECK(sim::asked_of_machine(ramps, other)->stop == StopCategory::category_1);
}

TEST_CASE("the function's limit counts, the smaller of its time and its distance, else that of the settings") {
    sim::Scenario s = debarker();
    const AcceptanceAct flap{.kind = Kind::demand, .safeguard = "flap", .function = 0};
    const sim::ActLimits stated = sim::limits_of_act(s, flap);
    CHECK(stated.machine_at_most == milliseconds(600));  // the distance would allow (1100 - 60) / 1600 = 650 ms
    // 12 ms sensor, 2 * 45 ms watchdog, 4 ms scan, 420 ms stop
    CHECK(stated.by_settings == milliseconds(526));
    s.functions[0].distance->there_um = 900'000;
    CHECK(sim::limits_of_act(s, flap).machine_at_most == milliseconds(525));
    s.functions[0].must[0].within.reset();
    s.functions[0].distance.reset();
    CHECK(sim::limits_of_act(s, flap).machine_at_most == milliseconds(526));
    // until it is slow: 20 ms drive, 680 mm/s at 3200 mm/s2; the failing link's 360 ms by braking are longer
    s.functions[2].must[0].within.reset();
    const sim::ActLimits slow =
        sim::limits_of_act(s, {.kind = Kind::demand, .safeguard = "speed_selector", .function = 2});
    CHECK(slow.machine_at_most == milliseconds(20 + 94 + 20 + 340));
}

TEST_CASE("a row allows no more than check, run and response do: [required] and [distance] bind a function too") {
    sim::Scenario s = debarker();
    s.required.overall = milliseconds(560);
    const AcceptanceAct flap{.kind = Kind::demand, .safeguard = "flap", .function = 0};
    CHECK(sim::limits_of_act(s, flap).machine_at_most == milliseconds(600));  // its own `within` stands in its place
    s.functions[0].must[0].within.reset();
    const sim::ActLimits overall = sim::limits_of_act(s, flap);
    CHECK(overall.machine_at_most == milliseconds(560));
    CHECK(overall.reckoned.find("function 1: required.overall = 560 ms") == 0);
    // the distance of the scenario, for the guard that it names: (800 - 60) mm / 1600 mm/s are less
    sim::GuardDistance near = *s.functions[0].distance;
    s.functions[0].distance.reset();
    near.safeguard = "flap";
    near.there_um = 800'000;
    s.distance = near;
    CHECK(sim::limits_of_act(s, flap).machine_at_most == sim::time_of(s, 0, 0, "flap").limit());
    CHECK(*sim::limits_of_act(s, flap).machine_at_most < milliseconds(560));
    const AcceptanceAct door{.kind = Kind::demand, .safeguard = "pit_door", .function = 0};
    CHECK(sim::limits_of_act(s, door).machine_at_most == milliseconds(560));
    // without a function the smaller of what is stated and what the settings promise, 526 ms
    s.functions.clear();
    s.distance.reset();
    const AcceptanceAct alone{.kind = Kind::demand, .safeguard = "flap"};
    CHECK(sim::limits_of_act(s, alone).machine_at_most == milliseconds(526));
    s.required.overall = milliseconds(520);
    CHECK(sim::limits_of_act(s, alone).machine_at_most == milliseconds(520));
}

TEST_CASE("of two guards at once with the same reaction the smaller limit counts") {
    sim::Scenario s = debarker();
    s.functions.push_back(s.functions[0]);
    s.functions[0].safeguards = {"flap"};
    s.functions[3].safeguards = {"pit_door"};
    s.functions[3].must[0].within = milliseconds(540);
    AcceptanceAct both{.kind = Kind::demand, .safeguard = "flap", .together_with = "pit_door", .function = 0};
    CHECK(sim::limits_of_act(s, both).machine_at_most == milliseconds(540));
    // with no limit of its own it has that of its settings, which is no longer with its sensor and that stop
    s.functions[3].must[0].within.reset();
    s.functions[3].distance.reset();
    CHECK(sim::limits_of_act(s, both).machine_at_most ==
          sim::limits_of_act(s, {.kind = Kind::demand, .safeguard = "pit_door", .function = 3}).machine_at_most);
    both.together_with = "pull_cord";  // of another category: not what this row's clock is about
    CHECK(sim::limits_of_act(s, both).machine_at_most == milliseconds(600));
}

TEST_CASE("a rehearsal stops as slowly as its limit reckons, by the figures or as it was measured") {
    const AcceptanceAct flap{.kind = Kind::demand, .safeguard = "flap", .function = 0};
    const sim::Scenario by_figures = debarker();
    const sim::ActSeen figures = sim::rehearse_act(by_figures, flap, 1);
    for (const std::int64_t measured : {380, 500}) {  // by its figures 420 ms
        CAPTURE(measured);
        sim::Scenario s = debarker();
        s.stopping.measured.assign(10, milliseconds(measured));
        const sim::ActLimits limits = sim::limits_of_act(s, flap);
        CHECK(limits.by_settings == milliseconds(526 + measured - 420));
        const sim::ActSeen seen = sim::rehearse_act(s, flap, 1);
        // the same places of the exchange: nothing but the stop differs, and it is no shorter than what was measured
        const sim::Duration differs = *seen.longest - *figures.longest;
        CHECK(differs >= milliseconds(measured - 420));
        CHECK(differs < milliseconds(measured - 420) + proto::microseconds(10));
        const sim::Passes passes = sim::judge_act(s, flap, sim::asked_of_machine(s, flap), limits, seen);
        CHECK(passes.why.find("with the stop of " + std::to_string(measured)) != std::string::npos);
        // without power it is the brake's figure that both go by, since another stop was measured
        sim::Scenario cord = s;
        cord.machine->reactions[0].stop = StopCategory::category_1;
        const AcceptanceAct off{.kind = Kind::power_off, .end = proto::End::device};
        CHECK(*sim::rehearse_act(cord, off, 1).shortest > milliseconds(400));
    }
    // a ramp that nothing monitors: what was measured faster does not count, for either
    sim::Scenario ramp = debarker();
    ramp.machine->reactions[0].stop = ramp.functions[0].must[0].must = StopCategory::category_1;
    ramp.stopping.ramp_monitored = false;
    const sim::ActSeen slow = sim::rehearse_act(ramp, flap, 1);
    ramp.stopping.measured.assign(10, milliseconds(100));
    CHECK(sim::rehearse_act(ramp, flap, 1).longest == slow.longest);
}

TEST_CASE("a stop whose hazard ends at reduced speed has two moments, and both are rehearsed") {
    sim::Scenario s = debarker();
    s.functions[0].reduced_speed_ends_hazard = true;
    const AcceptanceAct flap{.kind = Kind::demand, .safeguard = "flap", .function = 0};
    const auto asked = sim::asked_of_machine(s, flap);
    REQUIRE(asked.has_value());
    CHECK(asked->stands_later());
    const sim::ActLimits limits = sim::limits_of_act(s, flap);
    CHECK(limits.stands_at_most == milliseconds(526));
    const sim::ActSeen seen = sim::rehearse_act(s, flap, 1);
    REQUIRE(seen.longest_until_stands.has_value());
    CHECK(*seen.longest_until_stands == *seen.longest + milliseconds(60));  // 120 mm/s at 2000 mm/s2
    CHECK(sim::judge_act(s, flap, asked, limits, seen).why.find("slow, then standing, in 40 of 40") == 0);
    // it comes down in time and creeps to its standstill: only the second moment tells
    sim::ActSeen late = seen;
    late.longest_until_stands = milliseconds(527);
    CHECK(sim::judge_act(s, flap, asked, limits, late).passes == false);
}

TEST_CASE("a setting mistyped on purpose is rehearsed: refused, or found by a demand") {
    const sim::AcceptanceStudy study = sim::study_acceptance(debarker(), 1);
    REQUIRE(study.mistyped.size() == 3);
    CHECK(study.mistyped[0].passes.why == "the link did not start");
    CHECK(study.mistyped[1].passes.why == "the link did not start");
    CHECK_FALSE(study.mistyped[2].typed.seen_by_link());
    CHECK(study.mistyped[2].passes.why == "the link ran, and the demand of flap found it");
    for (const sim::RehearsedMistyped& one : study.mistyped) CHECK(one.passes.passes == true);
    // signals of the same guards: exchanged, no demand of one guard tells them apart
    sim::Scenario twins = debarker();
    twins.signals[1].all_of = twins.signals[0].all_of;
    CHECK(sim::rehearse_mistyped({twins, twins, 1}, study.mistyped[2].typed).passes == false);
}

TEST_CASE("one contact of two alone is walked for each, with its discrepancy") {
    const sim::Scenario lift = shipped("stage_lift/channels_disagree.toml");
    const sim::AcceptanceStudy study = sim::study_acceptance(lift, 1);
    REQUIRE(study.wires.size() == 2);
    for (const sim::RehearsedCheck& wire : study.wires) CHECK(wire.passes.passes == true);
    // a plant whose safeguard does not compare its contacts
    sim::Scenario blind = lift;
    blind.safeguards[0].discrepancy = proto::seconds(100);
    const auto rows = walk(lift, blind);
    CHECK(fails(rows, "wire rope_pull a", "FORGOTTEN"));
    CHECK(fails(rows, "wire rope_pull b", "FORGOTTEN"));
}

TEST_CASE("two guards at once: of the reactions that they ask for the more severe acts") {
    const sim::AcceptanceStudy study = sim::study_acceptance(debarker(), 1);
    std::vector<const sim::RehearsedAct*> pairs;
    for (const sim::RehearsedAct& one : study.demands)
        if (!one.act.together_with.empty()) pairs.push_back(&one);
    REQUIRE(pairs.size() == 3);
    CHECK(pairs[0]->act.safeguard == "flap");
    CHECK(pairs[0]->act.together_with == "pit_door");
    CHECK(pairs[1]->asked->stop == StopCategory::category_0);
    CHECK(pairs[2]->act.safeguard == "pull_cord");
    CHECK(pairs[2]->act.together_with == "speed_selector");
    CHECK(pairs[2]->asked->stop == StopCategory::category_2);
}

}  // namespace
