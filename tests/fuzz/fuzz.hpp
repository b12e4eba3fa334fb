#pragma once
// What the fuzz targets share: numbers out of an input, and the end of a run that broke a promise.
#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <span>
#include <string>

/// The one function of a target: any bytes at all, nothing is kept from one call to the next that could change what
/// the next one does.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

namespace fuzz {

/// Reads an input from its front; at its end all numbers are 0.
class Input {
  public:
    Input(const std::uint8_t* data, std::size_t size) : left_(data, size) {}
    [[nodiscard]] bool empty() const { return left_.empty(); }
    std::uint8_t byte() {
        if (left_.empty()) return 0;
        const std::uint8_t first = left_.front();
        left_ = left_.subspan(1);
        return first;
    }
    bool flag() { return (byte() & 1U) != 0; }
    /// `bytes` of them, the first highest.
    std::uint64_t number(unsigned bytes) {
        std::uint64_t value = 0;
        for (unsigned i = 0; i < bytes; ++i) value = value << 8 | byte();
        return value;
    }
    /// 0 .. count - 1, of at most 65 536.
    unsigned below(std::size_t count) {
        const std::uint64_t value = count <= 256 ? byte() : number(2);
        return static_cast<unsigned>(value % count);
    }
    unsigned between(unsigned low, unsigned high) { return low + below(high - low + 1); }
    std::span<const std::uint8_t> bytes(std::size_t most) {
        const auto taken = left_.first(std::min(most, left_.size()));
        left_ = left_.subspan(taken.size());
        return taken;
    }
    [[nodiscard]] std::span<const std::uint8_t> rest() const { return left_; }

  private:
    std::span<const std::uint8_t> left_;
};

/// What must not be is: the fuzzer, or the test that replays, ends here and keeps the input.
[[noreturn]] inline void broken(const char* what) {
    std::fprintf(stderr, "broken: %s\n", what);
    std::abort();
}

/// What is said to people is one line, whatever was in the input.
inline void expect_one_line(const std::string& text) {
    if (text.empty() || text.find('\n') != std::string::npos) broken("a message is not one line");
}

/// Inputs of formats that change: how many were not refused. Where none of a corpus is, it is of an older format, and
/// the replay of it would show nothing.
inline bool tells_taken = false;
inline std::size_t taken = 0;
inline void may_refuse() { tells_taken = true; }
inline void took() { ++taken; }

inline std::string text_of(const std::uint8_t* data, std::size_t size) {
    return {reinterpret_cast<const char*>(data), size};
}

/// A path below the sources, where targets find the plants and profiles that inputs are read beside.
inline std::string source(const char* path) { return std::string(LINKDRILL_SOURCE_DIR "/") + path; }

}  // namespace fuzz
