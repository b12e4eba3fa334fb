// What is written of measured round trips: the file that a scenario reads, and what people read.
#include <unistd.h>
#include <filesystem>
#include <fstream>

#include <doctest/doctest.h>

#include "sim/reading/measured_times.hpp"
#include "tools/roundtrips/round_trips_page.hpp"
#include "tools/roundtrips/round_trips_sheet.hpp"
#include "tools/text/look_up.hpp"

namespace {

using proto::Duration;
using proto::microseconds;
using proto::milliseconds;
using tools::RoundTripVerdict;

/// Sent every 10 ms; -1: lost.
sim::RoundTrips trips_of(const std::vector<std::int64_t>& line_ns) {
    sim::RoundTrips trips;
    for (std::size_t i = 0; i < line_ns.size(); ++i)
        trips.sent.push_back({.at = milliseconds(10) * static_cast<std::int64_t>(i),
                              .own_lateness = microseconds(60),
                              .line = {line_ns[i]},
                              .answered_after = microseconds(25)});
    return trips;
}

tools::RoundTripFinding found_of(sim::RoundTrips trips) {
    sim::AskOptions asked;
    asked.to = {"192.0.2.1", 4711};
    asked.cycle = milliseconds(10);
    asked.bytes = 19;
    asked.count = trips.sent.size() + trips.not_sent;
    asked.wait = proto::seconds(2);
    sim::AskOutcome outcome;
    outcome.trips = std::move(trips);
    outcome.stamped = true;
    return tools::finding_of(asked, std::move(outcome), "out");
}

TEST_CASE("a scenario reads the file of round trips to the nanosecond, and its empty cells as losses") {
    const std::vector<std::int64_t> line{1'234'567, -1, 0, 2'000'000'001, -1, 5};
    const auto path = std::filesystem::temp_directory_path() / ("round_trips_" + std::to_string(::getpid()) + ".csv");
    std::ofstream(path, std::ios::binary) << tools::csv_of(trips_of(line));
    const auto read = sim::read_measured_times(path.string(), sim::NoAnswer::loss, proto::seconds(3600));
    const auto refused = sim::read_measured_times(path.string(), sim::NoAnswer::refused, proto::seconds(3600));
    std::filesystem::remove(path);
    REQUIRE(read);
    CHECK(read.value().round_trips);
    CHECK(read.value().unanswered == 2);
    CHECK(read.value().times == std::vector<Duration>{{1'234'567}, {0}, {2'000'000'001}, {5}});
    REQUIRE_FALSE(refused);
    CHECK(refused.error().line == 3);
}

TEST_CASE("a file of the most round trips that a run may have is not too long for a scenario") {
    sim::RoundTrips trips;
    trips.sent.push_back({.at = Duration{86'399'912'345'678},
                          .own_lateness = Duration{1'234'567},
                          .line = Duration{123'456'789},
                          .answered_after = Duration{1'234'567}});
    const std::size_t header = tools::csv_of({}).size();
    CHECK((tools::csv_of(trips).size() - header) * 1'000'000 + header <= 50'000'000);
}

TEST_CASE("times of round trips are rounded up to three digits that count") {
    const auto words = [](std::int64_t ns) { return tools::fine_ms(Duration{ns}); };
    CHECK(words(0) == "0.000 ms");
    CHECK(words(1) == "0.001 ms");
    CHECK(words(42'000) == "0.042 ms");
    CHECK(words(42'001) == "0.043 ms");
    CHECK(words(999'000) == "0.999 ms");
    CHECK(words(999'001) == "1.00 ms");
    CHECK(words(1'250'000) == "1.25 ms");
    CHECK(words(9'995'000) == "10.0 ms");
    CHECK(words(12'340'001) == "12.4 ms");
    CHECK(words(99'950'000) == "100 ms");
    CHECK(words(2'000'000'001) == "2 001 ms");
}

TEST_CASE("round trips are measured if two came back, and believed if this computer kept its own times") {
    CHECK(found_of(trips_of({1000, -1, 2000})).verdict == RoundTripVerdict::measured);
    CHECK(found_of(trips_of({1000, -1, -1})).verdict == RoundTripVerdict::not_measured);
    CHECK(found_of(trips_of({-1, -1})).verdict == RoundTripVerdict::not_measured);
    CHECK(found_of({}).verdict == RoundTripVerdict::not_measured);
    sim::RoundTrips late = trips_of(std::vector<std::int64_t>(100, 1000));
    late.sent[7].own_lateness = milliseconds(10);
    CHECK(found_of(late).verdict == RoundTripVerdict::measured);
    late.sent[7].own_lateness = milliseconds(10) + Duration{1};
    CHECK(found_of(late).verdict == RoundTripVerdict::not_believed);
    sim::RoundTrips thin = trips_of(std::vector<std::int64_t>(990, 1000));
    thin.not_sent = 10;
    CHECK(found_of(thin).verdict == RoundTripVerdict::measured);
    thin.not_sent = 11;
    CHECK(found_of(thin).verdict == RoundTripVerdict::not_believed);
}

TEST_CASE("where nothing came back the page says what to look at, and from where answers came if not from there") {
    tools::RoundTripFinding found = found_of(trips_of({-1, -1}));
    const std::string page = tools::page_of(found, tools::Columns{}).text(tools::Colour::off);
    CHECK(page.starts_with("NOT MEASURED  2 datagrams"));
    CHECK(page.find("firewall") != std::string::npos);
    CHECK(page.find("Evidence") == std::string::npos);
    found.outcome.elsewhere = sim::ipv4({192, 0, 2, 9}, 4711);
    CHECK(tools::remarks_of(found).front().find("192.0.2.9:4711") != std::string::npos);
    const tools::Value document = tools::describe(found);
    CHECK(tools::is_null(tools::look_up(document, "median_ms")));
    CHECK(tools::is_null(tools::look_up(document, "file")));
    CHECK(tools::look_up_number(document, "lost") == 2.0);
}

TEST_CASE("the page of round trips names the longest with its moment, the gaps, and how to use them") {
    sim::RoundTrips trips = trips_of({40'000, 50'000, -1, -1, 9'000'000, 60'000, -1, 41'000});
    trips.duplicated = 3;
    trips.reordered = 4;
    const tools::RoundTripFinding found = found_of(trips);
    const std::string page = tools::page_of(found, tools::Columns{}).text(tools::Colour::off);
    for (const char* text :
         {"MEASURED  8 datagrams of 19 bytes to 192.0.2.1:4711, one in 10 ms: 3 lost",
          "the longest 9.00 ms, at 0.040 s.", "3 in 2 gaps; the longest 2 in a row, at 0.020 s.",
          "4 after a later one, 3 more than once.", R"(delay = { file = "round_trips.csv", no_answer = "losses" })"})
        CHECK_MESSAGE(page.find(text) != std::string::npos, text);
    const std::string html = tools::html_of(tools::sheet_of(found));
    CHECK(html.find("MEASURED") != std::string::npos);
    const tools::Value data = tools::chart_data_of(found);
    double counted = 0;
    for (const tools::Value& cell : tools::look_up_list(data, "spread"))
        counted += tools::number_of((*cell.list())[2]).value_or(0);
    CHECK(counted == 5.0);
    CHECK(tools::look_up_list(data, "course").size() == 8);
}

}  // namespace
