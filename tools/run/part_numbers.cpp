#include "tools/run/part_numbers.hpp"

#include <algorithm>

namespace tools {
namespace {

/// Digits with zeros before them, as printf writes a width: from_chars takes those too.
template <class T>
bool take_after(std::string_view& line, std::string_view word, T& value) {
    if (line.substr(0, word.size()) != word) return false;
    line.remove_prefix(word.size());
    const auto [stop, error] = std::from_chars(line.data(), line.data() + line.size(), value);
    if (error != std::errc{}) return false;
    line.remove_prefix(static_cast<std::size_t>(stop - line.data()));
    return true;
}

}  // namespace

bool read_alive(std::string_view line, std::int64_t& at, std::uint64_t& scans) {
    return take_after(line, "alive ", at) && take_after(line, " scans ", scans) && line == "\n";
}

std::string hex_of(std::span<const std::uint8_t> bytes) {
    constexpr std::string_view digits = "0123456789abcdef";
    std::string text = "x";
    text.reserve(bytes.size() * 2 + 1);
    for (const std::uint8_t byte : bytes) {
        text += digits[byte >> 4];
        text += digits[byte & 15U];
    }
    return text;
}

bool Numbers::take_hex(std::vector<std::uint8_t>& bytes) {
    skip();
    if (at_ == end_ || *at_ != 'x') return false;
    ++at_;
    while (at_ != end_) {
        std::uint8_t byte = 0;
        if (end_ - at_ < 2 || std::from_chars(at_, at_ + 2, byte, 16).ptr != at_ + 2) return false;
        bytes.push_back(byte);
        at_ += 2;
    }
    return true;
}

}  // namespace tools
