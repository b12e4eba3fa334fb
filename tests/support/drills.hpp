#pragma once
// The drills that are shipped, read once.
#include <doctest/doctest.h>

#include <string>
#include <utility>

#include "sim/reading/read_drill.hpp"

namespace tests {

inline const sim::DrillSet& drills() {
    static const sim::DrillSet set = [] {
        auto read = sim::read_drills(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/drills");
        REQUIRE_MESSAGE(read.ok(), (read.ok() ? std::string() : read.error().one_line()));
        return std::move(read.value());
    }();
    return set;
}

inline const sim::Drill& drill(unsigned number) {
    const sim::Drill* const found = drills().find(number);
    REQUIRE(found != nullptr);
    return *found;
}

}  // namespace tests
