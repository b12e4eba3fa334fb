// Figures in the texts of drills are those of the drill's plant: reckoned where a place stands, and else held against
// what the drill shows when it runs.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <regex>
#include <set>
#include <sstream>
#include <string>

#include <unistd.h>

#include "sim/reading/read_drill.hpp"
#include "sim/timing/response.hpp"
#include "sim/training/drill_check.hpp"
#include "tests/support/drills.hpp"

namespace {

namespace fs = std::filesystem;

const fs::path folder = fs::path(LINKDRILL_SOURCE_DIR) / "scenarios/drills";

using tests::drill;
using tests::drills;

std::string text_of(const fs::path& file) {
    std::ifstream in(file);
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

/// The texts of a drill's file with their places as they are written, without what configures it.
std::string told_in(const sim::Drill& one) {
    std::string told;
    const std::string text = text_of(one.file);
    const std::regex keys(
        R"(\b(story|people|half_why|hint_where|hint_compare|hint_meaning|cause|debrief|why) = "([^\n]*))");
    for (std::sregex_iterator found(text.begin(), text.end(), keys), end; found != end; ++found)
        told += (*found)[2].str() + "\n";
    return told;
}

std::string why_dangerous(const sim::Drill& one, const std::string& action) {
    for (const sim::Reasoned& danger : one.dangers)
        if (danger.id == action) return danger.why;
    return {};
}

std::string ms(sim::Duration time) { return std::to_string((time.ns + 999'999) / 1'000'000) + " ms"; }

/// Overall time and distance of that plant, with another watchdog, as the command `response` reckons them.
void check_told(const std::string& text, const sim::Scenario& sheet, sim::Duration watchdog) {
    const sim::Scenario other = sim::with_watchdog(sheet, watchdog);
    const sim::ResponseTime response = sim::response_of(other);
    REQUIRE(response.overall);
    const auto distance = sim::distance_of(other, response);
    REQUIRE(distance);
    CAPTURE(text);
    CHECK(text.find(ms(*response.overall)) != std::string::npos);
    CHECK(text.find(std::to_string(sim::whole_mm_up(distance->needed)) + " mm") != std::string::npos);
    CHECK(text.find(sim::written(sim::micrometres(*sheet.distance->there_um))) != std::string::npos);
}

/// What reading the drill says once a text of it was replaced.
std::string said_of(unsigned number, const std::string& was, const std::string& is) {
    const fs::path here = fs::temp_directory_path() / ("drill_places_" + std::to_string(::getpid()));
    fs::create_directories(here);
    fs::copy(folder / "plants", here / "plants", fs::copy_options::recursive);
    fs::copy(folder.parent_path() / "profiles", here / "profiles", fs::copy_options::recursive);
    std::string text = text_of(drill(number).file);
    const std::size_t at = text.find(was);
    REQUIRE(at != std::string::npos);
    text.replace(at, was.size(), is);
    std::ofstream(here / "one.toml") << text;
    const auto read = sim::read_drill((here / "one.toml").string(), drills().cards);
    std::string said = read ? "read: " + read.value().cause : read.error().one_line();
    fs::remove_all(here);
    return said;
}

}  // namespace

TEST_CASE("overall times and distances in drills are those that the response of their plant gives") {
    check_told(why_dangerous(drill(4), "raise-watchdog"), drill(4).link_sheet, proto::milliseconds(100));
    check_told(why_dangerous(drill(23), "type-at-controller"), drill(23).link_sheet,
               drill(23).scenario.device.link.watchdog);
}

TEST_CASE("a millisecond of watchdog costs what the card says: two of response, up to 4 mm by ISO 13855") {
    const sim::Scenario& press = drill(4).link_sheet;
    std::set<std::int64_t> steps_um;
    for (unsigned watchdog = 45; watchdog < 140; ++watchdog) {
        const auto with = [&](unsigned wd) { return sim::with_watchdog(press, proto::milliseconds(wd)); };
        const auto now = sim::response_of(with(watchdog)), then = sim::response_of(with(watchdog + 1));
        CHECK(*then.response - *now.response == proto::milliseconds(2));
        const sim::Length before = sim::distance_of(with(watchdog), now)->needed,
                          after = sim::distance_of(with(watchdog + 1), then)->needed;
        steps_um.insert((after - before).pm / 1'000'000);
    }
    // by the two speeds; where the slower one takes over the distance stands still for a while
    CHECK(steps_um.count(3200) == 1);
    CHECK(*steps_um.rbegin() == 4000);
    for (const unsigned streaming : {17U, 18U}) {
        const sim::Scenario& lift = drill(streaming).link_sheet;
        const auto now = sim::response_of(lift),
                   then = sim::response_of(sim::with_watchdog(lift, proto::milliseconds(101)));
        if (now.response && then.response) CHECK(*then.response - *now.response <= proto::milliseconds(2));
    }
    bool told = false;
    for (const sim::ActionCard& card : drills().cards)
        told = told || (card.id == "raise-watchdog" &&
                        card.why.find("two of response, and up to 4 mm of distance") != std::string::npos);
    CHECK(told);
}

TEST_CASE("no drill types a figure: each is a place, or one that is held against what the drill shows") {
    // by the tests here; the watchdog that a card would raise to stands before what it gives
    const std::set<std::pair<unsigned, std::string>> shown{{4, "60 ms"},  {4, "100 ms"}, {4, "10 ms"},
                                                           {17, "0.4 s"}, {18, "35 s"},  {19, "3 min"},
                                                           {19, "20 s"},  {19, "44 ms"}, {19, "200 s"}};
    const std::regex figure(R"(\b[0-9]+(\.[0-9]+)? ?(ms|us|mm|cm|m|s|min|millionths|deg|degrees)\b)");
    const std::regex place(R"(\{[^}]*\})");
    for (const sim::Drill& one : drills().drills) {
        CAPTURE(one.number);
        const std::string bare = std::regex_replace(told_in(one), place, "...");
        for (std::sregex_iterator found(bare.begin(), bare.end(), figure), end; found != end; ++found)
            CHECK_MESSAGE(shown.count({one.number, found->str()}) == 1, found->str());
    }
}

TEST_CASE("two in the morning: some 60 ms in place of some 10 ms") {
    const auto bench = sim::bench_of(drill(4), drill(4).scenario.seed);
    const sim::Measured& trip = bench->recorder().round_trip();
    CHECK(trip.longest->ns / 1'000'000 >= 55);
    CHECK(trip.longest->ns / 1'000'000 <= 65);
    CHECK(trip.last->ns / 1'000'000 >= 9);
    CHECK(trip.last->ns / 1'000'000 <= 12);
}

TEST_CASE("green and late: 0.4 s lie between the rope's signal at the I/O and at the controller, in the time line") {
    const auto bench = sim::bench_of(drill(17), drill(17).scenario.seed);
    const sim::Instant pulled = bench->now();
    bench->demand(0);
    bench->run_until(pulled + proto::seconds(2));
    std::optional<sim::Instant> sent, used;
    for (const sim::StripSample& sample : bench->record().around_demands.samples()) {
        if (!sent && sample.at > pulled && (sample.safeguards_and_used[0] & 1) == 0) sent = sample.at;
        if (!used && sample.at > pulled && (sample.safeguards_and_used[1] & 1) == 0) used = sample.at;
    }
    REQUIRE(sent);
    REQUIRE(used);
    CHECK((*used - *sent).ns / 1'000'000 >= 350);
    CHECK((*used - *sent).ns / 1'000'000 < 450);
}

TEST_CASE("growing old: it stops about 35 s after it was switched on, with both ages grown") {
    const auto bench = sim::bench_of(drill(18), drill(18).scenario.seed);
    REQUIRE(bench->first_stop(sim::End::device));
    const double after = static_cast<double>(bench->first_stop(sim::End::device)->ns) / 1e9;
    CHECK(after > 33);
    CHECK(after < 37);
    for (const sim::End end : {sim::End::controller, sim::End::device}) {
        const sim::Measured& age = bench->recorder().age(end);
        CHECK(*age.longest - *age.shortest > proto::milliseconds(50));
    }
}

TEST_CASE("every 3 minutes 20: the clock has gained 44 ms in 200 s, and one age fell while the other grew") {
    const auto bench = sim::bench_of(drill(19), drill(19).scenario.seed);
    REQUIRE(bench->first_stop(sim::End::controller));
    const double after = static_cast<double>(bench->first_stop(sim::End::controller)->ns) / 1e9;
    CHECK(after > 199);
    CHECK(after < 202);
    CHECK((200 * drill(19).scenario.faults.front().drift_ppm + 500) / 1000 == 44);
    const auto &controller = bench->recorder().age(sim::End::controller), &io = bench->recorder().age(sim::End::device);
    CHECK(controller.shortest->ns < -20'000'000);
    CHECK(io.longest->ns > 40'000'000);
}

TEST_CASE("a place that cannot be filled is an input error, with file, line, key and the mend") {
    const auto refused = [](unsigned number, const std::string& was, const std::string& is, const std::string& words) {
        const std::string said = said_of(number, was, is);
        CAPTURE(said);
        CHECK(std::regex_search(said, std::regex(words)));
    };
    refused(4, "{overall at 100 ms}", "{overlal at 100 ms}",
            R"(one\.toml:\d+: danger\.why: .*is no place; write \{watchdog\})");
    refused(4, "{overall at 100 ms}", "{overall at noon}", R"(danger\.why: .*write for example \{overall at 100 ms\})");
    refused(4, "{overall at 100 ms}", "{overall", R"(danger\.why: .*write \})");
    refused(4, "{written fault.extra}", "{written fault.etxra}", R"(one\.toml:\d+: cause: .*writes such a key)");
    refused(17, "{written fault.extra}", "{distance}", R"(cause: .*needs \[distance\] in the plant .stage_lift_1.)");
    refused(17, "{written fault.extra}", "{watchdog}", "^read: .*100 ms more delay");
    refused(4, "\"12 s\"", "\"12 s\"\non_since_device = \"long\"", R"(on_since_device: .*write "0 s", "8 min")");
    refused(4, "02:00:02", "2 o'clock", R"(clock: .*write it as "14:31:30")");
    refused(17, "\"test-demand\"", "\"ages\"", R"(evidence: .*cannot be read here: no telegram carries the clock)");
}
