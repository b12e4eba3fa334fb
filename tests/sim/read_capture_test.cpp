// Delays out of captures, which are written here byte by byte (the classic format: IETF draft-ietf-opsawg-pcap).
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "sim/reading/capture.hpp"

namespace fs = std::filesystem;

namespace {

using Use = sim::CaptureWish::Use;

class Capture {
  public:
    Capture() {
        little(0xA1B23C4D, 4);  // times in nanoseconds
        little(2, 2);
        little(4, 2);
        little(0, 8);
        little(65535, 4);
        little(1, 4);  // Ethernet
    }
    Capture(const Capture&) = delete;
    Capture& operator=(const Capture&) = delete;
    ~Capture() {
        std::error_code ignored;
        fs::remove(path(), ignored);
    }

    /// A UDP packet between hosts 1 and 2.
    void packet(std::int64_t ns, unsigned from, unsigned to, unsigned from_port, unsigned to_port) {
        constexpr std::int64_t second = 1'000'000'000;
        std::string frame(12, '\x02');
        const auto big = [&frame](unsigned value, unsigned bytes) {
            while (bytes-- > 0) frame.push_back(static_cast<char>(value >> (8 * bytes) & 0xFF));
        };
        big(0x0800, 2);
        big(0x4500, 2);
        big(20 + 8 + 4, 2);
        big(0, 4);
        big(0x4011, 2);  // lives for 64 hops, UDP
        big(0, 2);
        big(0x0A000000 + from, 4);
        big(0x0A000000 + to, 4);
        big(from_port, 2);
        big(to_port, 2);
        big(8 + 4, 2);
        big(0, 2);
        big(0xABCD, 4);
        little(static_cast<std::uint64_t>(ns / second), 4);
        little(static_cast<std::uint64_t>(ns % second), 4);
        little(frame.size(), 4);
        little(frame.size(), 4);
        bytes_ += frame;
    }
    void cut(std::size_t bytes) { bytes_.resize(bytes_.size() - bytes); }
    void text(const std::string& instead) { bytes_ = instead; }

    [[nodiscard]] auto delays(Use use, std::optional<std::uint16_t> port = {}) const {
        std::ofstream(path(), std::ios::binary) << bytes_;
        return sim::delays_in_capture({path(), use, port});
    }
    [[nodiscard]] std::string complaint(Use use = Use::round_trips) const {
        const auto read = delays(use);
        return read ? "" : read.error().message;
    }

  private:
    [[nodiscard]] std::string path() const {
        return (fs::temp_directory_path() /
                ("linkdrill_capture_" + std::to_string(reinterpret_cast<std::uintptr_t>(this)) + ".pcap"))
            .string();
    }
    void little(std::uint64_t value, unsigned bytes) {
        for (unsigned i = 0; i < bytes; ++i) bytes_.push_back(static_cast<char>(value >> (8 * i) & 0xFF));
    }
    std::string bytes_;
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
    REQUIRE(read.value().size() == expected.size());
    for (std::size_t i = 0; i < expected.size(); ++i) CHECK(read.value()[i].ns == expected[i]);
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
    REQUIRE(read.value().size() == expected.size());
    for (std::size_t i = 0; i < expected.size(); ++i) CHECK(read.value()[i].ns == expected[i]);
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
