// Delays out of captures.
#include <fstream>
#include <iterator>
#include <span>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "sim/reading/capture.hpp"
#include "tests/support/written_capture.hpp"

namespace {

using Use = sim::CaptureWish::Use;

class Capture : public tests::WrittenCapture {
  public:
    [[nodiscard]] auto delays(Use use, std::optional<std::uint16_t> port = {}) const {
        return sim::delays_in_capture({written(), use, port});
    }
    /// The same of bytes that are in memory.
    [[nodiscard]] auto delays_held(Use use) const {
        std::ifstream file(written(), std::ios::binary);
        const std::vector<char> bytes{std::istreambuf_iterator<char>(file), {}};
        const auto* const first = reinterpret_cast<const std::uint8_t*>(bytes.data());
        sim::CaptureWish wish{"no such file", use, {}};
        wish.held = std::span(first, bytes.size());
        return sim::delays_in_capture(wish);
    }
    [[nodiscard]] std::string complaint(Use use = Use::round_trips) const {
        const auto read = delays(use);
        return read ? "" : read.error().message;
    }
};

bool has(const std::string& text, const char* part) { return text.find(part) != std::string::npos; }

}  // namespace

TEST_CASE("round trips of a flow count from the first request to its answer") {
    Capture capture;
    for (std::int64_t i = 0; i < 5; ++i) {
        const std::int64_t at = i * 10'000'000;
        capture.packet(at, 1, 2, 5000, 6000);
        if (i == 2) capture.packet(at + 500'000, 1, 2, 5000, 6000);  // said again: counts from the first
        if (i != 3) capture.packet(at + 2'000'000 + i * 2, 2, 1, 6000, 5000);
        capture.packet(at + 2'500'000, 3, 4, 7000, 7001);  // somebody else
    }
    const auto read = capture.delays(Use::round_trips);
    REQUIRE(read.ok());
    // the fourth request was lost: its number is answered with the fifth
    const std::vector<std::int64_t> expected{2'000'000, 2'000'002, 2'000'004, 12'000'008};
    REQUIRE(read.value().times.size() == expected.size());
    for (std::size_t i = 0; i < expected.size(); ++i) CHECK(read.value().times[i].ns == expected[i]);
    const auto held = capture.delays_held(Use::round_trips);
    REQUIRE(held.ok());
    CHECK(held.value().times == read.value().times);
}

TEST_CASE("gaps count by how much they are over the usual one, and a port chooses the flow") {
    Capture capture;
    const std::int64_t times[] = {0, 10'000'000, 20'000'000, 33'000'000, 40'000'000, 50'000'000};
    for (const std::int64_t at : times) {
        capture.packet(at, 1, 2, 5000, 6000);
        capture.packet(at + 1000, 1, 3, 5000, 8000);
        capture.packet(at + 2000, 1, 3, 5000, 8000);
    }
    const auto read = capture.delays(Use::gaps, 6000);
    REQUIRE(read.ok());
    const std::vector<std::int64_t> expected{0, 0, 3'000'000, 0, 0};
    REQUIRE(read.value().times.size() == expected.size());
    for (std::size_t i = 0; i < expected.size(); ++i) CHECK(read.value().times[i].ns == expected[i]);
    CHECK_FALSE(capture.delays(Use::gaps, 9).ok());
}

TEST_CASE("a capture that is cut short, no capture at all, or too little in it is refused with a reason") {
    Capture capture;
    CHECK(has(capture.complaint(), "holds no UDP or TCP packets"));
    capture.packet(0, 1, 2, 5000, 6000);
    capture.packet(1000, 2, 1, 6000, 5000);
    CHECK(has(capture.complaint(), "holds 1 round trips"));
    capture.packet(2000, 1, 2, 5000, 6000);
    capture.packet(3000, 2, 1, 6000, 5000);
    CHECK(capture.complaint().empty());
    capture.cut(5);
    CHECK(has(capture.complaint(), "cut short or damaged after packet 3"));
    capture.text("delay_ms\n3\n");
    CHECK(has(capture.complaint(), "is no capture that can be read"));
    Capture backwards;
    backwards.packet(5000, 1, 2, 5000, 6000);
    backwards.packet(1000, 2, 1, 6000, 5000);
    CHECK(has(backwards.complaint(), "is older than the one before it"));
}

TEST_CASE("a capture of over 4096 flows is refused unless a port chooses among them") {
    Capture capture;
    std::int64_t at = 0;
    const auto exchanges = [&] {
        for (int i = 0; i < 3; ++i) {
            capture.packet(at += 1000, 1, 2, 5000, 6000);
            capture.packet(at += 1000, 2, 1, 6000, 5000);
        }
    };
    exchanges();
    for (int flow = 1; flow < 4096; ++flow)
        capture.packet(at += 1000, 3, 4, static_cast<std::uint16_t>(10'000 + flow), 53);
    CHECK(capture.complaint().empty());
    capture.packet(at += 1000, 3, 4, 10'000, 53);
    exchanges();
    CHECK(has(capture.complaint(),
              "holds over 4096 flows; write the port of the link, port = ..., or capture the link alone"));
    CHECK(capture.delays(Use::round_trips, 6000).ok());
    const auto all_of_a_port = capture.delays(Use::gaps, 53);
    CHECK(has(all_of_a_port.ok() ? "" : all_of_a_port.error().message, "too few for a distribution"));
    capture.packet(at += 1000, 3, 4, 20'000, 53);
    const auto too_many = capture.delays(Use::gaps, 53);
    CHECK(
        has(too_many.ok() ? "" : too_many.error().message, "holds over 4096 flows of port 53; capture the link alone"));
}
