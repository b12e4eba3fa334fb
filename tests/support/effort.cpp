#include "tests/support/effort.hpp"

#include <algorithm>
#include <cstdlib>

namespace tests {

unsigned depth_wanted() {
    const char* const text = std::getenv("LINKDRILL_DEPTH");
    return text == nullptr ? 6 : static_cast<unsigned>(std::clamp(std::strtol(text, nullptr, 10), 3L, 8L));
}

std::uint64_t runs_wanted(std::uint64_t full) {
    for (unsigned depth = depth_wanted(); depth < 6; ++depth) full /= 10;
    return std::max<std::uint64_t>(full, 100);
}

std::uint64_t cycles_wanted(std::uint64_t usual, std::uint64_t full) {
    return runs_wanted(std::getenv("LINKDRILL_LONG") != nullptr ? full : usual);
}

}  // namespace tests
