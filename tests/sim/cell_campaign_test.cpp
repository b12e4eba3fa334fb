// Trials over all links of a cell at once: where each fault strikes, what comes of it on machines behind the struck
// link, and that a trial is known by its number alone.
#include <doctest/doctest.h>

#include <algorithm>
#include <set>
#include <string>

#include "sim/drive/campaign_summary.hpp"
#include "sim/drive/cell_campaign.hpp"
#include "sim/drive/cell_trial.hpp"
#include "sim/drive/cell_verdict.hpp"
#include "sim/reading/read_cell.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "sim/timing/cell_ways.hpp"
#include "tests/support/cells.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::Duration;
using proto::milliseconds;
using proto::seconds;
using sim::CellTrialRunner;
using sim::Outcome;
using sim::TrialRecord;

/// A guard on link 0, a machine on link 1, and a function that says so.
sim::WholeCell guarded_chain(std::vector<sim::Fault> of_guard_link, std::vector<sim::Fault> of_machine_link) {
    sim::WholeCell cell = tests::chain_of({}, {}, seconds(4));
    sim::SafetyFunction function;
    function.name = "the guard stops the machine";
    function.safeguards = {"guard"};
    function.must = {{"machine", sim::StopCategory::category_1, seconds(1), {}}};
    cell.functions = cell.links[1].alone.functions = {function};
    cell.links[0].alone.faults = std::move(of_guard_link);
    cell.links[1].alone.faults = std::move(of_machine_link);
    sim::complete_links(cell);
    return cell;
}

sim::WholeCell mixed_chain() {
    sim::Fault restart = tests::fault_of(sim::FaultWay::restart);
    restart.at_end = proto::End::controller;
    restart.lasting = milliseconds(200);
    return guarded_chain({tests::fault_of(sim::FaultWay::random_bits), restart},
                         {tests::fault_of(sim::FaultWay::drop), restart});
}

struct Collected final : sim::CampaignSink {
    std::vector<TrialRecord> records;
    std::vector<sim::DangerousTrial> dangerous;
    bool take(const sim::TrialBatch& batch) override {
        records.insert(records.end(), batch.records.begin(), batch.records.end());
        dangerous.insert(dangerous.end(), batch.dangerous.begin(), batch.dangerous.end());
        return true;
    }
    bool go_on() override { return true; }
};

Collected run(const sim::CellCampaign& campaign, std::uint64_t first, std::uint64_t end, unsigned jobs) {
    Collected collected;
    sim::run_campaign({campaign.whole, 5, first, end, jobs, &campaign}, collected);
    return collected;
}

}  // namespace

TEST_CASE("campaign of a cell: each fault is in its list once, a fault of the controller for all links") {
    const sim::CellCampaign campaign = sim::campaign_of(mixed_chain());
    REQUIRE(campaign.strikes.size() == 3);
    REQUIRE(campaign.whole.faults.size() == 3);
    std::size_t of_all = 0;
    std::set<std::size_t> alone;
    for (std::size_t i = 0; i < 3; ++i) {
        for (const sim::FaultOfLink& one : campaign.strikes[i])
            CHECK(campaign.cell.links[one.link].alone.faults[one.fault].way == campaign.whole.faults[i].way);
        of_all += campaign.strikes_all(i) ? 1U : 0U;
        if (!campaign.strikes_all(i)) alone.insert(campaign.strikes[i].front().link);
    }
    CHECK(of_all == 1);
    CHECK(alone == std::set<std::size_t>{0, 1});
    // without any, the communication errors of each link
    const sim::CellCampaign every = sim::campaign_of(guarded_chain({}, {}));
    CHECK(every.strikes.size() == 2 * sim::every_error(guarded_chain({}, {}).links[0].alone).size());
}

TEST_CASE("campaign of a cell: a trial is the same alone, after others, and on any number of threads") {
    const sim::CellCampaign campaign = sim::campaign_of(mixed_chain());
    const Collected one = run(campaign, 0, 600, 1);
    REQUIRE(one.records.size() == 600);
    CHECK(run(campaign, 0, 600, 3).records == one.records);
    CellTrialRunner backwards(campaign, 5);
    for (std::uint64_t i = 300; i-- > 0;) {
        CAPTURE(i);
        REQUIRE(backwards.run(i) == one.records[i]);
    }
    for (const std::uint64_t i : {0U, 33U, 599U}) CHECK(CellTrialRunner(campaign, 5).run(i) == one.records[i]);
    CHECK(CellTrialRunner(campaign, 6).run(33).digest != one.records[33].digest);
}

TEST_CASE("campaign of a cell: what strikes the guard's link stops the machine on the other one, in time") {
    const sim::CellCampaign campaign = sim::campaign_of(mixed_chain());
    CellTrialRunner runner(campaign, 5);
    unsigned stopped_far = 0, own = 0, of_all = 0, met = 0;
    for (std::uint64_t i = 0; i < 600; ++i) {
        const TrialRecord record = runner.run(i);
        CAPTURE(i);
        CAPTURE(runner.why());
        CHECK(record.outcome != Outcome::dangerous);
        CHECK(record.in_time);
        CHECK(record.started);
        CHECK(record.functions_not_met == 0);
        met += record.functions_met != 0 ? 1U : 0U;
        const std::vector<sim::FaultOfLink>& struck = runner.struck();
        of_all += struck.size() == 2 ? 1U : 0U;
        own += struck.size() == 1 && struck.front().link == 1 ? 1U : 0U;
        // nothing of the guard's link hangs on the machine's
        for (const sim::FarStop& far : runner.seen().far_stops) {
            CHECK(far.link == 0);
            CHECK(far.machine_link == 1);
            CHECK(far.required);
            if (!far.moved || far.stopping || record.outcome != Outcome::safe_state || struck.size() == 2) continue;
            REQUIRE(far.standstill);
            if (!far.allowed) continue;  // no bound can be stated of what comes again
            CHECK(*far.standstill <= *far.allowed);
            // 250 mm/s by 2000 mm/s2, after 10 ms of the drive: never sooner than that
            CHECK(*far.standstill >= milliseconds(10 + 125));
            CHECK(record.standstill == far.standstill);
            ++stopped_far;
        }
    }
    CHECK(stopped_far > 50);
    CHECK(own > 100);
    CHECK(of_all > 100);
    CHECK(met > 60);
}

TEST_CASE("campaign of a cell: a guard's station that no longer reads is dangerous to the machine two links away") {
    sim::Fault frozen = tests::fault_of(sim::FaultWay::frozen_data);
    frozen.at_end = proto::End::device;
    const sim::CellCampaign campaign =
        sim::campaign_of(guarded_chain({frozen}, {tests::fault_of(sim::FaultWay::random_bits)}));
    const Collected found = run(campaign, 0, 400, 2);
    REQUIRE(found.dangerous.size() > 20);
    sim::CampaignSummary summary(campaign);
    summary.add(sim::TrialBatch{found.records, found.dangerous});
    REQUIRE(summary.links().size() == 2);
    // every one by the link that was struck, and none by the other
    CHECK(summary.links()[0].of(Outcome::dangerous) == found.dangerous.size());
    CHECK(summary.links()[1].of(Outcome::dangerous) == 0);
    CHECK(summary.functions().front().not_met > 0);
    CellTrialRunner again(campaign, 5);
    for (const sim::DangerousTrial& one : found.dangerous) {
        const TrialRecord record = again.run(one.trial);
        CHECK(record.outcome == Outcome::dangerous);
        CHECK(record.demand);
        CHECK(again.why() == one.why);
        CHECK(again.struck().front().link == 0);
    }
}

TEST_CASE("campaign of a cell: a machine that runs on behind the struck link is followed until its time is over") {
    sim::WholeCell cell = tests::chain_of({}, {}, seconds(4));
    cell.links[0].alone.faults = {tests::fault_of(sim::FaultWay::random_bits)};
    // its station reads the permission where the controller sends another one, which never falls
    constexpr unsigned may_run = 1, lamp = 2;
    for (sim::CellLink& link : cell.links) {
        link.alone.safeguards.push_back({"door", proto::End::controller, {}, {}, {}});
        link.alone.signals.push_back({"lamp", sim::Direction::to_device, {"door"}, {}});
        link.alone.signals.back().elsewhere = &link != &cell.links[1];
    }
    cell.safeguards.emplace_back();
    cell.minimum_holds.emplace_back();
    cell.signals.push_back(1);
    sim::Scenario& alone = cell.links[1].alone;
    alone.controller.bits.push_back({"lamp", {0, lamp}, {}});
    alone.device.bits.front().place = {0, lamp};
    alone.device.bits.push_back({"lamp", {0, may_run}, {}});
    tests::use_typed_bits(alone);
    sim::complete_links(cell);
    const sim::CellCampaign campaign = sim::campaign_of(cell);
    CellTrialRunner runner(campaign, 5);
    unsigned ran_on = 0, early_seen = 0;
    for (std::uint64_t i = 0; i < 200; ++i) {
        CAPTURE(i);
        const TrialRecord record = runner.run(i);
        if (record.demand) continue;  // one of the door stops it
        for (const sim::FarStop& far : runner.seen().far_stops) {
            const sim::InjectionResult& injection = runner.seen().links[far.link].injections[far.injection];
            if (!far.moved || far.stopping || injection.outcome != Outcome::safe_state) continue;
            REQUIRE(far.required);
            CHECK(!far.standstill);
            CHECK(far.ran_on);
            CHECK(!record.in_time);
            CHECK(record.outcome == Outcome::dangerous);
            ++ran_on;
            if (!far.allowed) continue;
            // seen for a little less than its time it is no verdict yet, and told when it is one
            sim::WholeCell seen = runner.cell();
            const Duration over = injection.at + *far.allowed;
            seen.duration = over - Duration{1};
            sim::FarStop early = far;
            early.ran_on = !(early.within_limit = true);
            CHECK(sim::judge_far_stop(seen, runner.seen(), early) == over);
            CHECK(!early.ran_on);
            seen.duration = over;
            CHECK(!sim::judge_far_stop(seen, runner.seen(), early));
            CHECK(early.ran_on);
            CHECK(!early.within_limit);
            ++early_seen;
        }
    }
    CHECK(ran_on > 20);
    CHECK(early_seen > 10);
}

TEST_CASE("campaign of a cell: by link adds up to all, and parts join to the whole") {
    const sim::CellCampaign campaign = sim::campaign_of(mixed_chain());
    const Collected all = run(campaign, 0, 500, 2);
    sim::CampaignSummary whole(campaign);
    whole.add(sim::TrialBatch{all.records, all.dangerous});
    REQUIRE(whole.links().size() == 3);  // and the controller's own fault
    CHECK(whole.links()[0].name == "link 0");
    CHECK(whole.links()[2].name.empty());
    std::uint64_t trials = 0, safe = 0;
    for (const sim::LinkSummary& link : whole.links()) {
        trials += link.trials;
        safe += link.of(Outcome::safe_state);
        CHECK(link.trials > 100);
    }
    CHECK(trials == 500);
    CHECK(safe == whole.of(Outcome::safe_state));
    // counted by hand
    std::uint64_t struck_0 = 0;
    CellTrialRunner runner(campaign, 5);
    for (std::uint64_t i = 0; i < 500; ++i) {
        static_cast<void>(runner.run(i));
        struck_0 += runner.struck().size() == 1 && runner.struck().front().link == 0 ? 1U : 0U;
    }
    CHECK(whole.links()[0].trials == struck_0);

    sim::CampaignSummary joined(campaign);
    for (const sim::TrialRange part : {sim::shard_of(500, 1, 2), sim::shard_of(500, 2, 2)}) {
        const Collected of_part = run(campaign, part.first, part.end, 1);
        sim::CampaignSummary summary = joined.anew();
        summary.add(sim::TrialBatch{of_part.records, of_part.dangerous});
        std::uint64_t sum = 0;
        for (const TrialRecord& record : of_part.records) sum += sim::fingerprint_of(record);
        const sim::DigestBlock block{0, part.count(), sum};
        sim::CampaignSummary read = joined.anew();
        REQUIRE(read.from_bytes(summary.to_bytes(), std::span(&block, 1)));
        joined.join(read, std::span(&block, 1));
    }
    CHECK(joined.digest() == whole.digest());
    for (std::size_t i = 0; i < 3; ++i) {
        CHECK(joined.links()[i].trials == whole.links()[i].trials);
        CHECK(joined.links()[i].outcomes == whole.links()[i].outcomes);
        CHECK(joined.links()[i].late == whole.links()[i].late);
    }
    // one trial moved from a link to the other is no summary of theirs
    sim::CampaignSummary of_one_link(campaign.whole);
    CHECK(!of_one_link.from_bytes(whole.to_bytes(), {}));
}

TEST_CASE("campaign of a cell: the shipped one has nothing dangerous and nothing late, and shows all functions") {
    const auto cell = sim::read_cell(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/glass_line/cell.toml");
    REQUIRE(cell);
    const sim::CellCampaign campaign = sim::campaign_of(cell.value());
    const Collected found = run(campaign, 0, 600, 2);
    sim::CampaignSummary summary(campaign);
    summary.add(sim::TrialBatch{found.records, found.dangerous});
    CHECK(summary.of(Outcome::dangerous) == 0);
    CHECK(summary.late() == 0);
    CHECK(summary.not_started() == 0);
    REQUIRE(summary.functions().size() == 3);
    for (const sim::FunctionSummary& function : summary.functions()) {
        CAPTURE(function.name);
        CHECK(function.met > 10);
        CHECK(function.not_met == 0);
        CHECK(!function.times_mixed);
        REQUIRE(function.worst);
        CHECK(*function.worst <= milliseconds(500));
    }
    REQUIRE(summary.links().size() == 4);
    for (const sim::LinkSummary& link : summary.links()) CHECK(link.trials > 80);
}
