// Files that people have bent: whatever is wrong with them is said of a line of the file, in words about the file, and
// with what to write instead.
#include <doctest/doctest.h>

#include <array>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <string_view>
#include <vector>

#include "sim/reading/all_problems.hpp"

namespace {

namespace fs = std::filesystem;

/// Words of those who write parsers, which nobody finds in the file.
constexpr std::array jargon{"cannot redefine", "encountered", "unescaped",     "end-of-file", "EOF",
                            "bare key",        "value_type",  "array-of",      "saw '",       "expected '",
                            "expected a",      "codepoint",   "terminator",    "prohibited",  "representable",
                            "dotted",          "error while", "parse",         "token",       "value type",
                            "exceeded",        "redefin",     "while parsing", "U+10FFFF",    "surrogate",
                            "key-value",       "toml::",      "hexadecimal",   "interpret"};

/// A mend, or what is there to choose from.
bool has_mend(std::string_view message) {
    for (const char* word : {"; write ", "write ", "did you mean", "; take ", "take it away", "nearest", "; save ",
                             "see ", "; leave ", "; copy ", "; give ", "; send ", "; exchange", "; let ", "is free",
                             "; a scenario ", "known here", "is needed", "holds "})
        if (message.find(word) != std::string_view::npos) return true;
    return false;
}

std::string text_of(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    return {(std::istreambuf_iterator<char>(in)), std::istreambuf_iterator<char>()};
}

/// Small steps that need not be good, only always the same.
class Dice {
  public:
    std::size_t below(std::size_t most) {
        state_ = state_ * 6364136223846793005U + 1442695040888963407U;
        return static_cast<std::size_t>(state_ >> 33U) % most;
    }

  private:
    std::uint64_t state_ = 7;
};

/// One of what fingers and editors do to a text.
void bend(std::string& text, Dice& dice) {
    constexpr std::array<std::string_view, 30> put{"\"",   "'",    "[",        "]",      "{",
                                                   "}",    "=",    ":",        "#",      "\n",
                                                   ",",    ".",    "-",        "_",      "\\",
                                                   " ",    "\t",   "0",        "1e5",    "nan",
                                                   "5x",   "\r",   "\xC2\xA0", "\u201C", "\xEF\xBB\xBF",
                                                   "\x01", "\xFF", "true",     "[[",     "1979-05-27"};
    const std::size_t at = dice.below(text.size());
    switch (dice.below(4)) {
        case 0: text.erase(at, 1 + dice.below(3)); break;
        case 1: text.insert(at, put[dice.below(put.size())]); break;
        case 2: text.replace(at, 1, put[dice.below(put.size())]); break;
        default: {  // a line twice, or away
            const std::size_t begin = text.rfind('\n', at) + 1, end = text.find('\n', at);
            const std::string line = text.substr(begin, end - begin) + "\n";
            if (dice.below(2) == 0)
                text.erase(begin, line.size());
            else
                text.insert(begin, line);
        }
    }
}

std::string wrong_with(const sim::FileError& error) {
    for (const char* word : jargon)
        if (error.message.find(word) != std::string::npos) return std::string("says ") + word;
    if (error.line <= 0 && !error.message.starts_with("is not text") && !error.message.starts_with("is empty") &&
        !error.message.starts_with("holds no keys"))
        return "names no line";
    return has_mend(error.message) ? "" : "has no mend";
}

}  // namespace

TEST_CASE("bent files are told of by line, in words about the file, and with a mend") {
    const fs::path scenarios = fs::path(LINKDRILL_SOURCE_DIR) / "scenarios";
    unsigned told = 0;
    Dice dice;
    for (const char* name : {"veneer_press/all_errors.toml", "glass_line/cell.toml", "log_debarker/guards.toml",
                             "profiles/crc32_stamped.toml", "glass_table/speed_as_value.toml"}) {
        const std::string path = (scenarios / name).string(), good = text_of(path);
        REQUIRE(sim::all_problems_in(good, path).empty());
        for (int round = 0; round < 1200; ++round) {
            std::string text = good;
            for (std::size_t times = 1 + dice.below(2); times > 0; --times) bend(text, dice);
            for (const sim::FileError& error : sim::all_problems_in(text, path)) {
                ++told;
                const std::string wrong = wrong_with(error);
                if (wrong.empty()) continue;
                CAPTURE(error.one_line());
                CHECK(wrong == "");
            }
        }
    }
    CHECK(told > 3000);
}
