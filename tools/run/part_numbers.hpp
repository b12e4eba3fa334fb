#pragma once
// Numbers and bytes in the lines of a part's file.
#include <array>
#include <charconv>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace tools {

/// "x00ff": the x is there even if there are no bytes.
std::string hex_of(std::span<const std::uint8_t> bytes);

/// "KIND N N N REST" with a line's end.
template <class... Number>
void add_line(std::string& text, char kind, std::string_view rest, Number... numbers) {
    text += kind;
    [[maybe_unused]] const auto add = [&text](auto value) {
        std::array<char, 24> digits{};
        char* const end = std::to_chars(digits.data(), digits.data() + digits.size(), value).ptr;
        text += ' ';
        text.append(digits.data(), end);
    };
    (add(numbers), ...);
    if (!rest.empty()) (text += ' ') += rest;
    text += '\n';
}

/// The line "alive AT scans N".
bool read_alive(std::string_view line, std::int64_t& at, std::uint64_t& scans);

/// Reads whole numbers of one line, one after the other, without any exception.
class Numbers {
  public:
    explicit Numbers(std::string_view line) : at_(line.data()), end_(line.data() + line.size()) {}
    template <class T>
    bool take(T& value) {
        skip();
        const auto [stop, error] = std::from_chars(at_, end_, value);
        if (error != std::errc{}) return false;
        at_ = stop;
        return true;
    }
    /// Bytes as hex_of() writes them, added to `bytes`.
    bool take_hex(std::vector<std::uint8_t>& bytes);
    [[nodiscard]] bool at_end() const { return at_ == end_; }
    /// What is left, without the blank before it.
    [[nodiscard]] std::string_view rest() {
        skip();
        return {at_, static_cast<std::size_t>(end_ - at_)};
    }

  private:
    void skip() {
        if (at_ != end_ && *at_ == ' ') ++at_;
    }
    const char* at_;
    const char* end_;
};

}  // namespace tools
