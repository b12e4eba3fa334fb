// The matrix of errors and measures beside the published ones: no difference without its reason, no reason without its
// difference, and nothing gets through a link but what its design lets through.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <set>
#include <string>
#include <vector>

#include "sim/measures/cells.hpp"
#include "sim/measures/reasons.hpp"
#include "sim/reading/read.hpp"
#include "tests/support/effort.hpp"

namespace {

using proto::Exchange;
using proto::Measure;
using sim::CoverCell;
using sim::ErrorKind;
using sim::MeasureCell;
using sim::MeasuresFound;
using sim::Reason;
using sim::Source;

std::vector<std::string> shipped_profiles() {
    std::vector<std::string> files;
    for (const auto& entry :
         std::filesystem::directory_iterator(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/profiles"))
        files.push_back(entry.path().string());
    std::sort(files.begin(), files.end());
    return files;
}

MeasuresFound of_profile(const std::string& file, const sim::StudyEffort& effort) {
    const auto profile = sim::read_profile(file);
    REQUIRE(profile.ok());
    auto found = sim::measures_of(profile.value(), effort);
    REQUIRE(found.ok());
    return std::move(found).value();
}

const MeasureCell& cell(const MeasuresFound& found, ErrorKind error, Measure measure,
                        Exchange exchange = Exchange::streaming) {
    for (const MeasureCell& each : found.cells)
        if (each.error == error && each.measure == measure && each.exchange == exchange) return each;
    FAIL("no such cell");
    return found.cells.front();
}

std::string name_of(const MeasureCell& c) {
    return std::string(sim::name_of(c.error)) + ", " + std::string(proto::name_of(c.measure)) +
           (c.exchange == Exchange::polled ? ", polled" : ", streaming");
}

/// What of the reasons explained something.
class Used {
  public:
    void look_at(const MeasuresFound& found, const std::string& where) {
        CHECK_MESSAGE(found.sound, where);
        CHECK_FALSE(found.cells.empty());
        for (const MeasureCell& each : found.cells) {
            CHECK_MESSAGE(each.explained(), where, ": ", name_of(each), " has no reason on file");
            CHECK_MESSAGE(each.why.empty() == !each.needs_reason, where, ": ", name_of(each), ": ", each.why);
            for (const Reason& reason : sim::reasons())
                if (reason.error == each.error && reason.measure == each.measure &&
                    each.why.find(reason.words) != std::string::npos &&
                    (!reason.exchange || reason.exchange == each.exchange))
                    used_.insert(&reason);
        }
        for (const auto* cells : {&found.whole, &found.without})
            for (const CoverCell& each : *cells)
                CHECK_MESSAGE(each.explained(), where, ": ", sim::name_of(each.error), " gets through without ",
                              std::string(each.without ? proto::name_of(*each.without) : "anything"),
                              ", and nothing says why");
    }
    [[nodiscard]] bool has(const Reason& reason) const { return used_.contains(&reason); }

  private:
    std::set<const Reason*> used_;
};

TEST_CASE("every difference from the published tables has its reason, and every reason its difference") {
    const bool thorough = std::getenv("LINKDRILL_LONG") != nullptr;
    const bool shallow = tests::depth_wanted() < 6;  // under sanitizers: too few trials for every reason to occur
    Used used;
    for (std::uint64_t seed = 1; seed <= (thorough ? 3 : 1); ++seed) {
        const std::string by_seed = ", seed " + std::to_string(seed);
        used.look_at(sim::measures_one_by_one({.seed = seed,
                                               .trials = thorough  ? 200U
                                                         : shallow ? 15U
                                                                   : 60U}),
                     "one by one" + by_seed);
        for (const std::string& file : shipped_profiles())
            used.look_at(of_profile(file, {.seed = seed,
                                           .trials = thorough  ? 100U
                                                     : shallow ? 4U
                                                               : 20U}),
                         file + by_seed);
    }
    // with few trials a cell may be all or none that is some with more of them
    for (unsigned trials = 1; trials <= 3; ++trials)
        used.look_at(sim::measures_one_by_one({.seed = 70 + trials, .trials = trials}), "few trials");
    for (const Reason& reason : sim::reasons()) {
        CHECK(reason.words.size() > 20);
        if (reason.occurs == Reason::Occurs::surely && !shallow)
            CHECK_MESSAGE(used.has(reason), "explains nothing: ", reason.words);
    }
}

TEST_CASE("a cell agrees when its mark is that of every source that has one") {
    const MeasuresFound found = sim::measures_one_by_one({.seed = 2, .trials = 20});
    CHECK(found.cells.size() == 8 * 8);
    for (const MeasureCell& each : found.cells) {
        CHECK(each.trials == 20);
        CHECK(each.simulated == (each.detected == each.trials));
        std::optional<bool> agrees;
        for (const auto& mark : each.published)
            if (mark) agrees = agrees.value_or(true) && *mark == each.simulated;
        CHECK_MESSAGE(agrees == each.agrees, name_of(each));
    }
    const MeasureCell& corruption = cell(found, ErrorKind::corruption, Measure::integrity);
    CHECK(corruption.simulated);
    CHECK(corruption.agrees == true);
    CHECK(corruption.why.empty());
    // seen at times: no mark, as published, and yet a reason
    const MeasureCell& in_number = cell(found, ErrorKind::corruption, Measure::sequence);
    CHECK_FALSE(in_number.simulated);
    CHECK(in_number.detected > 0);
    CHECK(in_number.agrees == true);
    CHECK(in_number.why.find("flips in the number itself") == 0);
    const MeasureCell& serial = cell(found, ErrorKind::corruption, Measure::cross_check);
    CHECK_FALSE(serial.agrees.has_value());
    const MeasureCell& wraps = cell(found, ErrorKind::repetition, Measure::sequence);
    CHECK(wraps.agrees == false);
    CHECK(wraps.why.find("a number wraps") == 0);
    const MeasureCell& strangers = cell(found, ErrorKind::insertion, Measure::authentication);
    CHECK(strangers.detected == 10);
    CHECK(strangers.why.find("an invalid sender only") != std::string::npos);
    const MeasureCell& creeping = cell(found, ErrorKind::delay, Measure::time_expectation);
    CHECK(creeping.detected == 10);
    CHECK(creeping.why.find("invisible without feedback or stamp") != std::string::npos);
}

TEST_CASE("the polled telegram with number, identifiers and CRC meets IEC 62541-15, Table 2") {
    // release 1.05.04; the time-out with feedback is met by the time expectation or by the feedback
    const MeasuresFound found = of_profile(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/profiles/crc32_carried.toml",
                                           {.seed = 3, .trials = 40});
    for (const CoverCell& each : found.whole) {
        if (each.exchange != Exchange::polled) continue;
        INFO(sim::name_of(each.error));
        CHECK(each.tally.missed == 0);
        CHECK(each.tally.late == 0);
        CHECK(each.tally.seen_by_any > 0);
        // whatever was seen was seen by a marked measure
        CHECK(each.tally.as_in_table_2 == each.tally.seen_by_any);
        // what went unseen had no effect: only what a polled link takes for an ordinary repetition
        const bool may_be_harmless = each.error == ErrorKind::repetition || each.error == ErrorKind::incorrect_sequence;
        if (!may_be_harmless) CHECK(each.tally.seen_by_any == each.tally.trials);
    }
    const auto column_seen = [&](ErrorKind error, std::initializer_list<Measure> column) {
        return std::any_of(column.begin(), column.end(),
                           [&](Measure measure) { return cell(found, error, measure, Exchange::polled).simulated; });
    };
    // marked, and seen; the marks that are left are those with a reason: the number in a loss and in a forgery, the
    // identifiers in a forgery
    const std::initializer_list<Measure> number{Measure::sequence}, identifiers{Measure::authentication},
        crc{Measure::integrity}, time_out{Measure::time_expectation, Measure::feedback};
    CHECK(column_seen(ErrorKind::corruption, crc));
    CHECK(column_seen(ErrorKind::repetition, number));
    CHECK(column_seen(ErrorKind::repetition, time_out));
    CHECK(column_seen(ErrorKind::incorrect_sequence, number));
    CHECK(column_seen(ErrorKind::loss, time_out));
    CHECK(column_seen(ErrorKind::delay, time_out));
    CHECK(column_seen(ErrorKind::insertion, number));
    CHECK(column_seen(ErrorKind::masquerade, crc));
    CHECK(column_seen(ErrorKind::addressing, identifiers));
    for (const auto& [error, measure] : {std::pair{ErrorKind::loss, Measure::sequence},
                                         {ErrorKind::masquerade, Measure::sequence},
                                         {ErrorKind::masquerade, Measure::authentication}}) {
        const MeasureCell& left = cell(found, error, measure, Exchange::polled);
        CHECK_FALSE(left.simulated);
        CHECK(left.agrees == false);
        CHECK_FALSE(left.why.empty());
    }
    // Table 2 says nothing about a stream
    for (const MeasureCell& each : found.cells)
        if (each.exchange == Exchange::streaming)
            CHECK_FALSE(each.published[static_cast<std::size_t>(Source::iec_62541_15)].has_value());
}

TEST_CASE("a profile that no link can use is refused with the setting's name") {
    auto profile = sim::read_profile(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/profiles/crc32_carried.toml");
    REQUIRE(profile.ok());
    proto::Profile narrow = profile.value();
    narrow.sequence.bits = 1;
    const auto found = sim::measures_of(narrow, {.trials = 1});
    REQUIRE_FALSE(found.ok());
    CHECK(found.error().fault == proto::SettingsFault::streaming_needs_number);
}

}  // namespace
