#include "tests/support/written_capture.hpp"

#include <filesystem>
#include <fstream>

#include <unistd.h>

namespace tests {
namespace {

namespace fs = std::filesystem;

std::string path_of(const void* capture) {
    return (fs::temp_directory_path() / ("linkdrill_capture_" + std::to_string(::getpid()) + "_" +
                                         std::to_string(reinterpret_cast<std::uintptr_t>(capture)) + ".pcap"))
        .string();
}

}  // namespace

WrittenCapture::WrittenCapture() {
    little(0xA1B23C4D, 4);  // times in nanoseconds
    little(2, 2);
    little(4, 2);
    little(0, 8);
    little(65535, 4);
    little(1, 4);  // Ethernet
}

WrittenCapture::~WrittenCapture() {
    std::error_code ignored;
    fs::remove(path_of(this), ignored);
}

void WrittenCapture::packet(std::int64_t ns, unsigned from, unsigned to, unsigned from_port, unsigned to_port,
                            std::string_view payload) {
    constexpr std::int64_t second = 1'000'000'000;
    const auto size = static_cast<unsigned>(payload.size());
    std::string frame(12, '\x02');
    const auto big = [&frame](unsigned value, unsigned bytes) {
        while (bytes-- > 0) frame.push_back(static_cast<char>(value >> (8 * bytes) & 0xFF));
    };
    big(0x0800, 2);
    big(0x4500, 2);
    big(20 + 8 + size, 2);
    big(0, 4);
    big(0x4011, 2);  // lives for 64 hops, UDP
    big(0, 2);
    big(0x0A000000 + from, 4);
    big(0x0A000000 + to, 4);
    big(from_port, 2);
    big(to_port, 2);
    big(8 + size, 2);
    big(0, 2);
    frame += payload;
    little(static_cast<std::uint64_t>(ns / second), 4);
    little(static_cast<std::uint64_t>(ns % second), 4);
    little(frame.size(), 4);
    little(frame.size(), 4);
    bytes_ += frame;
}

std::string WrittenCapture::written() const {
    std::ofstream(path_of(this), std::ios::binary) << bytes_;
    return path_of(this);
}

void WrittenCapture::little(std::uint64_t value, unsigned bytes) {
    for (unsigned i = 0; i < bytes; ++i) bytes_.push_back(static_cast<char>(value >> (8 * i) & 0xFF));
}

}  // namespace tests
