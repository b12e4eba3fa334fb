#include "sim/drive/campaign.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "sim/drive/campaign_summary.hpp"
#include "sim/reading/read.hpp"
#include "tests/support/effort.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using sim::CampaignSummary;
using sim::FaultWay;
using sim::Outcome;
using sim::Scenario;
using sim::TrialRecord;
using sim::TrialRunner;

Scenario read(const std::string& name) {
    auto found = sim::read_scenario(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/" + name + ".toml");
    REQUIRE(found.ok());
    return std::move(found).value();
}

/// Everything, and stops when there are so many if that is wanted.
struct Collected final : sim::CampaignSink {
    std::vector<TrialRecord> records;
    std::vector<sim::DangerousTrial> dangerous;
    std::size_t enough = ~std::size_t{0};
    bool take(const sim::TrialBatch& batch) override {
        records.insert(records.end(), batch.records.begin(), batch.records.end());
        dangerous.insert(dangerous.end(), batch.dangerous.begin(), batch.dangerous.end());
        return true;
    }
    bool go_on() override { return records.size() < enough; }
};

Collected campaign(const Scenario& scenario, sim::TrialRange range, unsigned jobs, std::uint64_t seed = 5) {
    Collected collected;
    sim::run_campaign({scenario, seed, range.first, range.end, jobs}, collected);
    return collected;
}

std::vector<TrialRecord> alone(const Scenario& scenario, std::uint64_t count, std::uint64_t seed = 5) {
    TrialRunner runner(scenario, seed);
    std::vector<TrialRecord> records;
    for (std::uint64_t i = 0; i < count; ++i) records.push_back(runner.run(i));
    return records;
}

std::uint64_t digest_of(const Scenario& scenario, const std::vector<TrialRecord>& records) {
    CampaignSummary summary(scenario);
    for (const TrialRecord& record : records) summary.add(record);
    return summary.digest();
}

}  // namespace

TEST_CASE("campaign: the same trials with any number of threads, in order") {
    for (const char* name : {"veneer_press/all_errors", "stage_lift/streaming_errors"}) {
        const Scenario scenario = read(name);
        const std::vector<TrialRecord> expected = alone(scenario, 2000);
        for (const unsigned jobs : {1U, 2U, 3U, 7U}) CHECK(campaign(scenario, {0, 2000}, jobs).records == expected);
        // another seed is another campaign
        CHECK(digest_of(scenario, alone(scenario, 200, 6)) != digest_of(scenario, alone(scenario, 200, 5)));
    }
}

TEST_CASE("campaign: a trial with a demand judges each function that names its guard, and none else") {
    const Scenario scenario = read("log_debarker/guards");
    TrialRunner runner(scenario, 5);
    CampaignSummary summary(scenario);
    for (std::uint64_t i = 0; i < 600; ++i) {
        const TrialRecord record = runner.run(i);
        summary.add(record);
        std::uint64_t naming = 0;
        for (const sim::Demand& demand : runner.scenario().demands)
            for (std::size_t f = 0; f < scenario.functions.size(); ++f)
                naming |= std::uint64_t{sim::names(scenario.functions[f], demand.safeguard)} << f;
        CAPTURE(i);
        // one demand, one machine: just one of the three; a demand that the trial did not live to see shows nothing
        const std::uint64_t judged = record.functions_met + record.functions_not_met + record.functions_not_shown;
        CHECK((judged == 0 || judged == naming));
        CHECK((judged == naming || runner.seen().demands.empty()));
        CHECK(record.functions_not_met == 0);
        CHECK(runner.scenario().duration == scenario.duration);
    }
    REQUIRE(summary.functions().size() == scenario.functions.size());
    for (std::size_t f = 0; f < scenario.functions.size(); ++f) {
        const sim::FunctionSummary& function = summary.functions()[f];
        CHECK(function.name == scenario.functions[f].name);
        CHECK(function.met > 20);
        CHECK(function.not_met == 0);
        CHECK(function.not_shown > 0);
        REQUIRE(function.worst);
        CHECK(*function.worst > proto::milliseconds(100));
        CHECK(*function.worst <= *scenario.functions[f].must[0].within);
    }
    CHECK(summary.of(Outcome::dangerous) == 0);
}

TEST_CASE("campaign: a trial in which a function was not met is dangerous, whatever the link did") {
    for (const char* name : {"log_debarker/exchanged_reactions", "log_debarker/forgotten_guard"}) {
        CAPTURE(name);
        const Scenario scenario = read(name);
        TrialRunner runner(scenario, 5);
        CampaignSummary summary(scenario);
        for (std::uint64_t i = 0; i < 300; ++i) {
            const TrialRecord record = runner.run(i);
            summary.add(record);
            if (record.functions_not_met == 0) continue;
            CHECK(record.outcome == Outcome::dangerous);
            CHECK_FALSE(runner.why().empty());
        }
        CHECK(summary.of(Outcome::dangerous) > 10);
        std::uint64_t not_met = 0;
        for (const sim::FunctionSummary& function : summary.functions()) not_met += function.not_met;
        CHECK(not_met > 10);
    }
    // a stop that takes longer than within, on a link that keeps its promise
    Scenario slow = read("log_debarker/guards");
    slow.functions[0].must[0].within = proto::milliseconds(300);
    CampaignSummary summary(slow);
    for (const TrialRecord& record : alone(slow, 300)) summary.add(record);
    CHECK(summary.functions()[0].not_met > 10);
    CHECK(summary.functions()[0].met == 0);
    CHECK(summary.functions()[1].not_met == 0);
}

TEST_CASE("campaign: a trial is the same whatever was run before it") {
    for (const char* name : {"veneer_press/all_errors", "stage_lift/streaming_errors", "glass_table/implied_addresses",
                             "veneer_press/supply_dip", "stage_lift/load_drops", "stage_lift/creeping_delay_stamped"}) {
        CAPTURE(name);
        const Scenario scenario = read(name);
        const std::vector<TrialRecord> expected = alone(scenario, 300);
        TrialRunner backwards(scenario, 5);
        for (std::uint64_t i = 300; i-- > 0;) CHECK(backwards.run(i) == expected[i]);
        for (const std::uint64_t i : {0U, 17U, 123U, 299U}) CHECK(TrialRunner(scenario, 5).run(i) == expected[i]);
    }
}

TEST_CASE("campaign: parts put together are the whole, for any number of parts") {
    const Scenario scenario = read("veneer_press/all_errors");
    const std::vector<TrialRecord> whole = alone(scenario, 1000);
    for (const std::uint64_t parts : {1U, 2U, 3U, 8U, 999U, 1000U}) {
        std::uint64_t next = 0;
        for (std::uint64_t k = 1; k <= parts; ++k) {
            const sim::TrialRange range = sim::shard_of(1000, k, parts);
            CHECK(range.first == next);
            CHECK(range.count() >= 1000 / parts);
            CHECK(range.count() <= 1000 / parts + 1);
            next = range.end;
        }
        CHECK(next == 1000);
    }
    std::vector<TrialRecord> joined;
    for (std::uint64_t k = 1; k <= 3; ++k) {
        const Collected part = campaign(scenario, sim::shard_of(1000, k, 3), 2);
        joined.insert(joined.end(), part.records.begin(), part.records.end());
    }
    CHECK(joined == whole);
    CHECK(digest_of(scenario, joined) == digest_of(scenario, whole));
    // two trials that changed their results
    std::swap(joined[10], joined[11]);
    std::swap(joined[10].trial, joined[11].trial);
    CHECK(digest_of(scenario, joined) != digest_of(scenario, whole));
    // the largest campaign's parts do not overflow
    const std::uint64_t most = 1'000'000'000'000;
    CHECK(sim::shard_of(most, 100'000, 100'000).end == most);
    CHECK(sim::shard_of(~std::uint64_t{0}, 7, 7).end == ~std::uint64_t{0});
}

TEST_CASE("campaign: told to stop, the threads leave a beginning without gaps, and the rest makes it whole") {
    const Scenario scenario = read("veneer_press/all_errors");
    const std::vector<TrialRecord> whole = alone(scenario, 3000);
    for (const std::size_t enough : {1U, 500U, 1700U}) {
        Collected first;
        first.enough = enough;
        sim::run_campaign({scenario, 5, 0, 3000, 3}, first);
        REQUIRE(first.records.size() >= enough);  // threads that were ahead may have finished all
        std::vector<TrialRecord> all = first.records;
        const Collected rest = campaign(scenario, {all.size(), 3000}, 2);
        all.insert(all.end(), rest.records.begin(), rest.records.end());
        CHECK(all == whole);
    }
    // of a campaign of hours they leave the most undone
    Collected begun;
    begun.enough = 1;
    sim::run_campaign({scenario, 5, 0, 100'000'000, 3}, begun);
    CHECK(begun.records.size() < 100'000);
}

TEST_CASE("campaign: nothing is dangerous or late where every measure is there") {
    for (const char* name :
         {"veneer_press/all_errors", "stage_lift/streaming_errors", "veneer_press/second_error_stops",
          "stage_lift/two_copies", "stage_lift/creeping_delay_polled", "stage_lift/creeping_delay_stamped",
          "veneer_press/supply_dip"}) {
        CAPTURE(name);
        const Scenario scenario = read(name);
        const auto trials = static_cast<std::uint64_t>(tests::cycles_wanted(4000, 400'000));
        CampaignSummary summary(scenario);
        const Collected collected = campaign(scenario, {0, trials}, 2, scenario.seed);
        for (const TrialRecord& record : collected.records) summary.add(record);
        CHECK(summary.of(Outcome::dangerous) == 0);
        CHECK(summary.late() == 0);
        CHECK(summary.spurious() == 0);
        CHECK(summary.not_started() == 0);
        std::uint64_t outcomes = 0;
        for (const Outcome outcome : {Outcome::safe_state, Outcome::tolerated, Outcome::no_effect, Outcome::dangerous,
                                      Outcome::not_fired, Outcome::never_ran})
            outcomes += summary.of(outcome);
        CHECK(outcomes == trials);
        CHECK(summary.of(Outcome::safe_state) > 0);
        for (sim::ErrorSummary& error : summary.errors()) {
            const auto stood = error.standstill.points();
            if (stood && error.allowed) CHECK(stood->max <= *error.allowed);
        }
    }
}

TEST_CASE("campaign: a delay that creeps in a stream is dangerous, and each dangerous trial repeats by its number") {
    const Scenario scenario = read("stage_lift/creeping_delay");
    const Collected collected = campaign(scenario, {0, 600}, 2, scenario.seed);
    REQUIRE(collected.dangerous.size() > 30);
    std::set<std::uint64_t> listed;
    for (const sim::DangerousTrial& dangerous : collected.dangerous) {
        listed.insert(dangerous.trial);
        TrialRunner again(scenario, scenario.seed);
        CHECK(again.run(dangerous.trial) == collected.records[dangerous.trial]);
        CHECK(again.why() == dangerous.why);
        CHECK_FALSE(dangerous.why.empty());
        CHECK(again.scenario().faults.front().way == collected.records[dangerous.trial].way);
    }
    for (const TrialRecord& record : collected.records)
        CHECK((record.outcome == Outcome::dangerous) == listed.contains(record.trial));
}

TEST_CASE("campaign: a stalled output without a watchdog of its own is dangerous only with a demand") {
    Scenario scenario = tests::polled_link();
    scenario.machine->output_watchdog.reset();
    sim::Fault stall = tests::fault_of(FaultWay::stall);
    stall.error = sim::ErrorKind::none;
    stall.at_end = scenario.machine->at;
    stall.lasting = proto::seconds(1);
    stall.to_device = false;
    stall.to_controller = true;
    scenario.faults = {stall};
    const std::vector<TrialRecord> records = alone(scenario, 400);
    unsigned with_demand = 0;
    for (const TrialRecord& record : records)
        if (record.outcome == Outcome::dangerous && record.demand) ++with_demand;
    CHECK(with_demand > 20);
    CHECK(CampaignSummary(scenario).errors().front().name == "stall");
}

TEST_CASE("campaign: a link that never starts is told so, trial by trial") {
    Scenario scenario = tests::polled_link();
    scenario.faults = {tests::fault_of(FaultWay::drop)};
    scenario.device.link.watchdog = scenario.device.link.watchdog + proto::milliseconds(1);
    for (const TrialRecord& record : alone(scenario, 40)) {
        if (record.phase == sim::TrialPhase::running) CHECK_FALSE(record.started);
        CHECK(record.outcome != Outcome::dangerous);
        CHECK(record.outcome != Outcome::safe_state);
    }
}

TEST_CASE("campaign: bytes that are bent are no summary, or one whose sums agree") {
    const Scenario scenario = read("stage_lift/creeping_delay");
    CampaignSummary whole(scenario);
    const Collected collected = campaign(scenario, {0, 400}, 1);
    for (const TrialRecord& record : collected.records) whole.add(record);
    for (const sim::DangerousTrial& dangerous : collected.dangerous) whole.add(dangerous);
    REQUIRE(whole.of(Outcome::dangerous) > 10);
    const std::vector<std::uint8_t> bytes = whole.to_bytes();
    const std::vector<sim::DigestBlock> blocks{{.number = 0, .trials = 400, .sum = 7}};
    tests::Draws draws(21);
    std::size_t taken = 0;
    for (int round = 0; round < 4000; ++round) {
        std::vector<std::uint8_t> bent = bytes;
        for (std::int64_t change = draws.between(1, 4); change > 0; --change) {
            const auto place = static_cast<std::size_t>(draws.between(0, static_cast<std::int64_t>(bent.size()) - 1));
            switch (draws.between(0, 3)) {
                case 0: bent[place] ^= static_cast<std::uint8_t>(1U << draws.between(0, 7)); break;
                case 1: bent[place] = 0xFF; break;
                case 2: bent.erase(bent.begin() + static_cast<std::ptrdiff_t>(place)); break;
                default: bent.insert(bent.begin() + static_cast<std::ptrdiff_t>(place), 0x80); break;
            }
        }
        CampaignSummary summary(scenario);
        if (!summary.from_bytes(bent, blocks)) continue;
        ++taken;
        CHECK(summary.trials() == 400);
        std::uint64_t outcomes = 0;
        for (const Outcome outcome : {Outcome::safe_state, Outcome::tolerated, Outcome::no_effect, Outcome::dangerous,
                                      Outcome::not_fired, Outcome::never_ran})
            outcomes += summary.of(outcome);
        CHECK(outcomes == 400);
        CHECK(summary.dangerous().size() == summary.of(Outcome::dangerous));
        for (sim::ErrorSummary& error : summary.errors())
            for (sim::Distribution* times : error.times())
                if (const auto points = times->points()) {
                    CHECK(points->median <= points->p99);
                    CHECK(points->p99 <= points->max);
                }
    }
    // a name or a time that was bent is found by the check of the store alone
    CHECK(taken > 0);
    CHECK(taken < 3000);
}
