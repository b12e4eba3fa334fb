#pragma once
// What a trainee does at the plant in the fourth step, without waiting for it.
#include <doctest/doctest.h>

#include <sstream>
#include <string>

#include "tools/training/exercise.hpp"

namespace tests {

/// One after the other; what is explained and taken back is understood. A machine that has to be stopped before
/// anything is locked out first.
inline void do_works(tools::Exercise& one, const std::string& cards) {
    if (one.step() != 4 && one.act({{"act", "step"}, {"value", "4"}})) {
        REQUIRE_FALSE(one.act({{"act", "conduct"}, {"value", "lock-out"}}));
        REQUIRE_FALSE(one.act({{"act", "step"}, {"value", "4"}}));
    }
    std::istringstream list(cards);
    for (std::string card; std::getline(list, card, ',');) {
        REQUIRE_FALSE(one.act({{"act", "work"}, {"value", card}}));
        finish_work(one);
    }
}
/// The same, and hands over.
inline void do_and_hand_over(tools::Exercise& one, const std::string& cards) {
    do_works(one, cards);
    if (one.warned()) REQUIRE_FALSE(one.act({{"act", "understood"}}));
    REQUIRE_FALSE(one.act({{"act", "hand-over"}}));
}

}  // namespace tests
