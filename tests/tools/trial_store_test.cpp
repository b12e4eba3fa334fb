// Blocks of a campaign's store, across their borders and those of parts. The command's own behaviour is in campaign.sh,
// altered bits are in store_flips.py, the checks made anew from the rows in store_checks.py.
#include "tools/campaign/trial_store.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <string>
#include <vector>

#include <unistd.h>

#include "proto/crc_catalogue.hpp"
#include "sim/scenario/scenario.hpp"
#include "tools/campaign/trial_rows.hpp"

namespace {

using tools::block_trials;
using tools::CampaignKey;
using tools::Keep;
using tools::RunningCheck;
using tools::TrialBlock;
using tools::TrialChecks;
using tools::TrialStore;

constexpr std::size_t faults = 3;

struct Folder {
    std::string path = "/tmp/linkdrill_trial_store_" + std::to_string(::getpid());
    Folder() { std::filesystem::create_directories(path); }
    ~Folder() { std::filesystem::remove_all(path); }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    [[nodiscard]] std::string file(const std::string& name) const { return path + "/" + name; }
};

/// Trials that nobody ran; each 1000th, and the first and last of each block, is dangerous.
sim::TrialBatch trials(std::uint64_t first, std::uint64_t end) {
    sim::TrialBatch batch;
    for (std::uint64_t trial = first; trial < end; ++trial) {
        sim::TrialRecord record;
        record.trial = trial;
        record.fault = static_cast<std::uint32_t>(trial % faults);
        record.digest = trial * 0x9E3779B97F4A7C15ULL;
        if (trial % 3 != 0) record.detect = sim::Duration{static_cast<std::int64_t>(trial)};
        const std::uint64_t place = trial % block_trials;
        if (trial % 1000 == 0 || place == 0 || place == block_trials - 1) {
            record.outcome = sim::Outcome::dangerous;
            batch.dangerous.push_back({trial, record.fault, "why " + std::to_string(trial)});
        }
        batch.records.push_back(record);
    }
    return batch;
}

std::vector<TrialBlock> blocks_of(std::uint64_t first, std::uint64_t end, std::uint64_t at_once) {
    TrialChecks checks(Keep::all);
    for (std::uint64_t from = first; from < end; from += at_once)
        checks.add(trials(from, std::min(from + at_once, end)));
    CHECK(checks.totals().trials == end - first);
    return checks.take_changed();
}

CampaignKey key_of(std::uint64_t count, std::uint64_t shard, std::uint64_t shards, Keep keep = Keep::all) {
    return {.model = 1,
            .made_by = "a test",
            .scenario = "Made up",
            .contents = "contents",
            .seed = 7,
            .trials = count,
            .shard = shard,
            .shards = shards,
            .keep = keep};
}

/// With as many faults as the trials have, each of an error of its own.
const sim::Scenario& scenario() {
    static const sim::Scenario made = [] {
        sim::Scenario scenario;
        for (const sim::ErrorKind error : {sim::ErrorKind::loss, sim::ErrorKind::delay, sim::ErrorKind::corruption})
            scenario.faults.emplace_back().error = error;
        return scenario;
    }();
    return made;
}

TrialStore opened(const std::string& path, const CampaignKey& key, TrialStore::Open how) {
    auto store = TrialStore::open(path, key, how);
    REQUIRE_MESSAGE(store.ok(), store.error().one_line());
    return std::move(store).value();
}

void keep(const std::string& path, const CampaignKey& key) {
    TrialStore store = opened(path, key, TrialStore::Open::anew);
    sim::CampaignSummary summary(scenario());
    store.write_of(summary);
    const sim::TrialRange range = key.range();
    for (std::uint64_t from = range.first; from < range.end; from += 256) {
        const sim::TrialBatch batch = trials(from, std::min(from + 256, range.end));
        summary.add(batch);
        REQUIRE(!store.add(batch));
    }
    REQUIRE(!store.commit());
}

/// All that it reads, as one batch; or the sentence with which it refuses.
proto::Result<sim::TrialBatch, std::string> read_back(const std::string& path, const CampaignKey& key) {
    auto store = TrialStore::open(path, key, TrialStore::Open::read);
    if (!store) return store.error().one_line();
    sim::TrialBatch all;
    sim::CampaignSummary summary(scenario());
    const auto failed =
        store.value().read(summary, [&](const tools::TrialPiece& piece) -> std::optional<tools::Failure> {
            all.records.insert(all.records.end(), piece.kept.records.begin(), piece.kept.records.end());
            for (const sim::DangerousTrial& one : piece.kept.dangerous) all.dangerous.push_back(one);
            return std::nullopt;
        });
    if (failed) return failed->one_line();
    return all;
}

}  // namespace

TEST_CASE(
    "the check of stores is CRC-64/XZ over 8 bytes a number, the lowest first, and over texts with their length") {
    RunningCheck check;
    CHECK(check.value() == 0);
    // the catalogue's check value is over "123456789": eight digits are a number, and the ninth is not to be had
    const std::uint64_t digits = 0x3837363534333231;
    check.add(digits);
    const auto engine = proto::CrcEngine::make(proto::find_crc("CRC-64/XZ")->spec);
    const std::string eight = "12345678";
    CHECK(check.value() == engine.value().over({reinterpret_cast<const std::uint8_t*>(eight.data()), 8}));

    RunningCheck one, other;
    for (const std::string_view text : {"ab", "c"}) one.add(text);
    for (const std::string_view text : {"a", "bc"}) other.add(text);
    CHECK(one.value() != other.value());
    // a zero and nothing are two things
    RunningCheck zero, nothing;
    zero.add(std::vector<std::optional<std::int64_t>>{0, 1});
    nothing.add(std::vector<std::optional<std::int64_t>>{std::nullopt, 1});
    CHECK(zero.value() != nothing.value());
}

TEST_CASE("blocks are those of the trials' numbers, whatever the batches, and parts share at most one") {
    const std::uint64_t end = 2 * block_trials + 100;
    const std::vector<TrialBlock> whole = blocks_of(0, end, 256);
    REQUIRE(whole.size() == 3);
    CHECK(blocks_of(0, end, 1000) == whole);
    CHECK(whole[1].number == 1);
    CHECK(whole[1].trials == block_trials);
    CHECK(whole[2].trials == 100);
    // 65 536 is dangerous, so are 66 000 to 131 000 and 131 071
    CHECK(whole[1].dangerous == 1 + 66 + 1);

    // a part from the middle of block 0 on has all blocks after that as the whole has them
    const std::vector<TrialBlock> part = blocks_of(40'000, end, 256);
    REQUIRE(part.size() == 3);
    CHECK(part[0].trials == block_trials - 40'000);
    CHECK(part[0].rows_check != whole[0].rows_check);
    CHECK(std::vector(part.begin() + 1, part.end()) == std::vector(whole.begin() + 1, whole.end()));
}

TEST_CASE("a store across blocks gives back what was put in, as a whole, in parts, and gone on with in a block") {
    const Folder folder;
    const std::uint64_t count = 2 * block_trials + 100;
    for (const std::uint64_t shard : {0U, 1U, 2U, 3U}) {
        const CampaignKey key = shard == 0 ? key_of(count, 1, 1) : key_of(count, shard, 3);
        const std::string file = folder.file("part" + std::to_string(shard));
        keep(file, key);
        const auto back = read_back(file, key);
        REQUIRE_MESSAGE(back.ok(), back.error());
        const sim::TrialBatch put = trials(key.range().first, key.range().end);
        CHECK(back.value().records == put.records);
        CHECK(back.value().dangerous.size() == put.dangerous.size());
    }
    {
        keep(folder.file("longer"), key_of(block_trials + 10, 1, 1));
        TrialStore store = opened(folder.file("longer"), key_of(count, 1, 1), TrialStore::Open::resume);
        CHECK(store.kept() == block_trials + 10);
        sim::CampaignSummary summary(scenario());
        REQUIRE(!store.read(summary, [](const tools::TrialPiece&) { return std::optional<tools::Failure>(); }));
        REQUIRE(!store.add(trials(block_trials + 10, count)));
        REQUIRE(!store.commit());
    }
    const auto back = read_back(folder.file("longer"), key_of(count, 1, 1));
    REQUIRE_MESSAGE(back.ok(), back.error());
    CHECK(back.value().records == trials(0, count).records);
}

TEST_CASE("an altered trial is found in its block, which is named") {
    const Folder folder;
    const CampaignKey key = key_of(2 * block_trials + 100, 1, 1);
    const std::string file = folder.file("whole");
    keep(file, key);
    for (const auto& [trial, said] :
         {std::pair{"65535", "trials 0 to 65535, or"}, std::pair{"65536", "trials 65536 to 131071, or"},
          std::pair{"131171", "trials 131072 to 131171, or"}}) {
        tools::Database database(file);
        const std::string change = std::string("UPDATE trial SET digest = digest + 1 WHERE trial = ") + trial;
        REQUIRE(database.run(change.c_str()));
        const auto back = read_back(file, key);
        REQUIRE(!back.ok());
        CHECK_MESSAGE(back.error().find(said) != std::string::npos, back.error());
        const std::string undo = std::string("UPDATE trial SET digest = digest - 1 WHERE trial = ") + trial;
        REQUIRE(database.run(undo.c_str()));
    }
    CHECK(read_back(file, key).ok());
}

namespace {

/// The summary of trials of a store, or of several in a row, that keep less than all rows.
std::vector<std::uint8_t> summed(const Folder& folder, std::uint64_t count, const std::vector<std::uint64_t>& parts_of,
                                 Keep keep) {
    sim::CampaignSummary all(scenario());
    for (const std::uint64_t shard : parts_of) {
        const CampaignKey key = key_of(count, shard, parts_of.size(), keep);
        const std::string file =
            folder.file(std::string(name_of(keep)) + std::to_string(shard) + "_" + std::to_string(parts_of.size()));
        std::filesystem::remove(file);
        ::keep(file, key);
        TrialStore store = opened(file, key, TrialStore::Open::read);
        std::uint64_t rows = 0;
        REQUIRE(!store.read(all, [&](const tools::TrialPiece& piece) {
            rows += piece.kept.records.size();
            CHECK(piece.kept.dangerous.size() <= piece.dangerous);
            return std::optional<tools::Failure>();
        }));
        const std::uint64_t dangerous = trials(key.range().first, key.range().end).dangerous.size();
        CHECK(rows == (keep == Keep::all ? key.range().count() : keep == Keep::dangerous ? dangerous : 0));
    }
    std::vector<std::uint8_t> bytes = all.to_bytes();
    for (unsigned byte = 0; byte < 8; ++byte) bytes.push_back(static_cast<std::uint8_t>(all.digest() >> 8 * byte));
    return bytes;
}

}  // namespace

TEST_CASE("a store without rows comes to what one with all rows comes to, whole and in parts that share blocks") {
    const Folder folder;
    const std::uint64_t count = 3 * block_trials + 100;
    sim::CampaignSummary direct(scenario());
    direct.add(trials(0, count));
    const std::vector<std::uint8_t> whole = summed(folder, count, {1}, Keep::all);
    CHECK(std::equal(whole.begin(), whole.end() - 8, direct.to_bytes().begin()));
    for (const Keep keep : {Keep::all, Keep::dangerous, Keep::summary}) {
        CAPTURE(name_of(keep));
        CHECK(summed(folder, count, {1}, keep) == whole);
        CHECK(summed(folder, count, {1, 2, 3, 4, 5}, keep) == whole);
    }
}

TEST_CASE("a store without rows is gone on with where it was left, and knows when its summary was altered") {
    const Folder folder;
    const std::uint64_t begun = block_trials + 10, count = 2 * block_trials + 100;
    for (const Keep keep : {Keep::dangerous, Keep::summary}) {
        CAPTURE(name_of(keep));
        const std::string file = folder.file("going_on_" + std::string(name_of(keep)));
        ::keep(file, key_of(begun, 1, 1, keep));
        sim::CampaignSummary summary(scenario());
        {
            TrialStore store = opened(file, key_of(count, 1, 1, keep), TrialStore::Open::resume);
            REQUIRE(!store.read(summary, [](const tools::TrialPiece&) { return std::optional<tools::Failure>(); }));
            store.write_of(summary);
            const sim::TrialBatch rest = trials(begun, count);
            summary.add(rest);
            REQUIRE(!store.add(rest));
            REQUIRE(!store.commit());
        }
        sim::CampaignSummary whole(scenario());
        whole.add(trials(0, count));
        CHECK(summary.digest() == whole.digest());
        const auto back = read_back(file, key_of(count, 1, 1, keep));
        REQUIRE_MESSAGE(back.ok(), back.error());
        tools::Database database(file);
        REQUIRE(database.run("UPDATE summary SET content = zeroblob(length(content))"));
        const auto bent = read_back(file, key_of(count, 1, 1, keep));
        REQUIRE(!bent.ok());
        CHECK_MESSAGE(bent.error().find("its summary does not fit its check") != std::string::npos, bent.error());
    }
}
