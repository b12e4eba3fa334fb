#pragma once
// Files as texts that a test changes.
#include <doctest/doctest.h>

#include <fstream>
#include <iterator>
#include <string>
#include <string_view>

namespace tests {

inline std::string text_of(const std::string& path) {
    std::ifstream in(path, std::ios::binary);
    REQUIRE(in.good());
    return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

/// A text with one piece replaced, which must be there.
inline std::string with(std::string text, std::string_view old, std::string_view now) {
    const std::size_t at = text.find(old);
    REQUIRE_MESSAGE(at != std::string::npos, old);
    return text.replace(at, old.size(), now);
}

}  // namespace tests
