// The capture as a file: blocks worked out by hand from the pcapng draft (IETF draft-ietf-opsawg-pcapng), the window in
// which packets wait for their comments, and the walk over blocks of any origin.
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include <unistd.h>

#include "proto/bytes.hpp"
#include "sim/capture/capture_writer.hpp"
#include "sim/capture/pcapng_notes.hpp"
#include "sim/numeric/random.hpp"

namespace fs = std::filesystem;

namespace {

using Bytes = std::vector<std::uint8_t>;
using Comment = sim::CaptureWriter::Comment;

class Memory final : public sim::ByteSink {
  public:
    bool write(std::span<const std::uint8_t> bytes) override {
        if (all.size() + bytes.size() > room) return false;
        all.insert(all.end(), bytes.begin(), bytes.end());
        return true;
    }
    bool overwrite(std::uint64_t at, std::span<const std::uint8_t> bytes) override {
        if (at + bytes.size() > all.size()) return false;
        std::copy(bytes.begin(), bytes.end(), all.begin() + static_cast<std::ptrdiff_t>(at));
        return true;
    }
    Bytes all;
    std::size_t room = ~std::size_t{0};
};

const sim::pcapng::PacketMaker& maker() {
    static const sim::pcapng::PacketMaker made(0, sim::ipv4({192, 0, 2, 1}, 49701), sim::ipv4({192, 0, 2, 2}, 49702));
    return made;
}

sim::pcapng::Buffer head() {
    sim::pcapng::Buffer out;
    sim::pcapng::put_section(out, "test", std::vector<std::string>{"digest 0000"});
    sim::pcapng::put_interface(out, {sim::link_ipv4, "hop", {}});
    return out;
}

/// A file that goes with its object.
class Stored {
  public:
    explicit Stored(const Bytes& bytes) {
        std::ofstream(path(), std::ios::binary)
            .write(reinterpret_cast<const char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
    }
    Stored(const Stored&) = delete;
    Stored& operator=(const Stored&) = delete;
    ~Stored() {
        std::error_code ignored;
        fs::remove(path(), ignored);
    }
    [[nodiscard]] static std::string path() {
        return (fs::temp_directory_path() / ("linkdrill-notes-" + std::to_string(::getpid()) + ".pcapng")).string();
    }
};

std::vector<std::string> comments_of(const Bytes& bytes) {
    const Stored file(bytes);
    std::vector<std::string> found;
    auto notes = sim::PcapngNotes::open(Stored::path());
    if (!notes) return {"no pcapng"};
    while (const auto note = notes->next()) found.push_back(note->comment);
    return found;
}

}  // namespace

TEST_CASE("a capture of one packet has these bytes") {
    Memory memory;
    sim::pcapng::Buffer out;
    sim::pcapng::put_section(out, "drill", std::vector<std::string>{"hi!"});
    sim::pcapng::put_interface(out, {sim::link_ipv4, "hop", {}});
    sim::CaptureWriter writer(memory, out);
    const Bytes payload{0xAB, 0xCD, 0xEF};
    const auto number = writer.add(maker(), 0x1'0000'0002, payload, Comment::to_come);
    writer.remark(number, "why");
    writer.close(number);
    REQUIRE(writer.finish({}, {}));
    const Bytes expected{// section header: type, length, byte order, version 1.0, length of the section not said
                         0x0A, 0x0D, 0x0D, 0x0A, 52, 0, 0, 0, 0x4D, 0x3C, 0x2B, 0x1A, 1, 0, 0, 0, 0xFF, 0xFF, 0xFF,
                         0xFF, 0xFF, 0xFF, 0xFF, 0xFF,                  //
                         1, 0, 3, 0, 'h', 'i', '!', 0,                  // comment, filled up
                         4, 0, 5, 0, 'd', 'r', 'i', 'l', 'l', 0, 0, 0,  // application
                         0, 0, 0, 0, 52, 0, 0,
                         0,  // end of options, length again
                             // interface: type, length, link type 228, nothing, packets of any length
                         1, 0, 0, 0, 40, 0, 0, 0, 228, 0, 0, 0, 0, 0, 0, 0,  //
                         2, 0, 3, 0, 'h', 'o', 'p', 0,                       // name
                         9, 0, 1, 0, 9, 0, 0, 0,                             // 10^-9 s
                         0, 0, 0, 0, 40, 0, 0, 0,
                         // packet: type, length, interface 0, stamp high word first, 31 bytes captured, 31 on the wire
                         6, 0, 0, 0, 76, 0, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 2, 0, 0, 0, 31, 0, 0, 0, 31, 0, 0, 0};
    const Bytes after{0xAB, 0xCD, 0xEF, 0,                    // payload, filled up
                      1,    0,    3,    0, 'w', 'h', 'y', 0,  // comment
                      0,    0,    0,    0, 76,  0,   0,   0};
    REQUIRE(memory.all.size() == expected.size() + 28 + after.size());
    CHECK(Bytes(memory.all.begin(), memory.all.begin() + static_cast<std::ptrdiff_t>(expected.size())) == expected);
    CHECK(Bytes(memory.all.end() - static_cast<std::ptrdiff_t>(after.size()), memory.all.end()) == after);
    CHECK(memory.all[expected.size()] == 0x45);
}

TEST_CASE("packets keep their order while some wait for a comment") {
    Memory memory;
    sim::CaptureWriter writer(memory, head());
    std::vector<sim::CaptureWriter::Number> waiting;
    std::vector<std::string> expected;
    for (unsigned i = 0; i < 20'000; ++i) {
        const Bytes payload(i % 40, static_cast<std::uint8_t>(i));
        const bool waits = i % 3 == 0;
        const auto number = writer.add(maker(), i, payload, waits ? Comment::to_come : Comment::none);
        CHECK(number == i + 1);
        expected.emplace_back(waits && i % 2 == 0 ? "first. second." : "");
        if (waits) waiting.push_back(number);
        if (waiting.size() > 50) {
            const auto oldest = waiting.front();
            waiting.erase(waiting.begin());
            if (!expected[oldest - 1].empty()) {
                writer.remark(oldest, "first.");
                writer.remark(oldest, "second.");
            }
            writer.close(oldest);
        }
    }
    for (const auto number : waiting) {
        if (expected[number - 1].empty()) continue;
        writer.remark(number, "first.");
        writer.remark(number, "second.");
    }
    REQUIRE(writer.finish("0000", "beef"));
    CHECK(comments_of(memory.all) == expected);
    const std::string text(memory.all.begin(), memory.all.end());
    CHECK(text.find("digest beef") != std::string::npos);
    CHECK(text.find("digest 0000") == std::string::npos);
}

TEST_CASE("a packet whose comment does not come within the window says so, and memory stays bounded") {
    Memory memory;
    sim::CaptureWriter writer(memory, head());
    const auto first = writer.add(maker(), 0, Bytes{1}, Comment::to_come);
    const Bytes payload(200);
    constexpr unsigned packets = 100'000;  // 26 MB: more than the window holds
    for (unsigned i = 1; i < packets; ++i) writer.add(maker(), i, payload, Comment::none);
    CHECK(memory.all.size() > 8'000'000);
    writer.remark(first, "too late");
    writer.close(first);
    REQUIRE(writer.finish({}, {}));
    const auto comments = comments_of(memory.all);
    REQUIRE(comments.size() == packets);
    CHECK(comments[0].find(sim::CaptureWriter::too_late) != std::string::npos);
    CHECK(comments[1].empty());
}

TEST_CASE("a sink that is full fails the capture") {
    Memory memory;
    memory.room = 1000;
    sim::CaptureWriter writer(memory, head());
    for (unsigned i = 0; i < 100; ++i) writer.add(maker(), i, Bytes(20), Comment::none);
    CHECK_FALSE(writer.finish({}, {}));
    CHECK(writer.failed());
}

TEST_CASE("comments of others are found in either byte order, with several options and sections") {
    Bytes out;
    const auto put = [&out](std::uint64_t value, unsigned bytes) {
        out.resize(out.size() + bytes);
        proto::store_be(out.data() + out.size() - bytes, value, bytes);
    };
    const auto text = [&](std::uint16_t code, const std::string& what) {
        put(code, 2);
        put(what.size(), 2);
        out.insert(out.end(), what.begin(), what.end());
        while (out.size() % 4 != 0) out.push_back(0);
    };
    const auto block = [&](std::uint32_t type, auto body) {
        const std::size_t begin = out.size();
        put(type, 4);
        put(0, 4);
        body();
        const std::size_t length = out.size() + 4 - begin;
        put(length, 4);
        proto::store_be(out.data() + begin + 4, length, 4);
    };
    for (const char* section : {"first", "second"}) {
        block(sim::pcapng::section_header, [&] {
            put(sim::pcapng::byte_order_mark, 4);
            put(0x0001'0000, 4);
            put(~std::uint64_t{0}, 8);
            text(sim::pcapng::option_comment, section);
            put(0, 4);
        });
        block(sim::pcapng::interface_description, [&] {
            put(228U << 16, 4);
            put(0, 4);
            text(sim::pcapng::option_name, "eth0");
        });
        block(5, [&] { put(0, 8), put(0, 4); });  // statistics: of no concern
        block(sim::pcapng::enhanced_packet, [&] {
            put(7, 4);
            put(0, 8);
            put(3, 4);
            put(3, 4);
            put(0x01020300, 4);
            text(sim::pcapng::option_comment, "one");
            text(2, "flags");
            text(sim::pcapng::option_comment, "two");
            put(0, 4);
        });
        block(sim::pcapng::simple_packet, [&] { put(0, 4); });
    }
    const Stored file(out);
    auto notes = sim::PcapngNotes::open(Stored::path());
    REQUIRE(notes);
    CHECK(notes->section_comments() == std::vector<std::string>{"first"});
    CHECK(notes->interface_names() == std::vector<std::string>{"eth0"});
    for (int section = 0; section < 2; ++section) {
        const auto packet = notes->next();
        REQUIRE(packet);
        CHECK(packet->interface == 7);
        CHECK(packet->comment == "one\ntwo");
        const auto simple = notes->next();
        REQUIRE(simple);
        CHECK(simple->comment.empty());
    }
    CHECK_FALSE(notes->next());
    CHECK(notes->section_comments() == std::vector<std::string>{"first"});
}

TEST_CASE("files cut short or with flipped bits end the walk and do no harm") {
    Memory memory;
    sim::CaptureWriter writer(memory, head());
    for (unsigned i = 0; i < 12; ++i) {
        const auto number = writer.add(maker(), i, Bytes(i), Comment::none);
        if (i % 2 == 0) writer.remark(number, "a comment");
    }
    REQUIRE(writer.finish({}, {}));
    std::size_t before = 12;
    for (std::size_t size = memory.all.size(); size-- > 0;) {
        const Bytes cut(memory.all.begin(), memory.all.begin() + static_cast<std::ptrdiff_t>(size));
        const std::size_t found = comments_of(cut).size();
        CHECK(found <= std::max(before, std::size_t{1}));  // "no pcapng" is one too
        before = found;
    }
    const sim::Random draws(3, sim::Concern::fault_place, 0);
    for (std::uint64_t round = 0; round < 2000; ++round) {
        Bytes bent = memory.all;
        for (std::uint64_t i = 0; i < 1 + round % 4; ++i) {
            const std::uint64_t bit = draws.at(round * 4 + i) % (bent.size() * 8);
            bent[bit / 8] = static_cast<std::uint8_t>(bent[bit / 8] ^ 1U << bit % 8);
        }
        CHECK(comments_of(bent).size() <= 1000);
    }
}
