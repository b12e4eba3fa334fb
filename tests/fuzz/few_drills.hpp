#pragma once
// Three of the shipped drills, read once: a trainer keeps a copy of all that it has. The trainee comes to each after
// half a second instead of many: what went well before takes longer to simulate than all that is asked afterwards.
#include "sim/reading/read_drill.hpp"
#include "tests/fuzz/fuzz.hpp"
#include "tools/training/trainer.hpp"

namespace fuzz {

inline const sim::DrillSet& few_drills() {
    static const sim::DrillSet few = [] {
        auto all = sim::read_drills(source("scenarios/drills"));
        if (!all) broken("the shipped drills cannot be read");
        constexpr std::size_t kept = 3;
        all.value().drills.resize(kept);
        for (sim::Drill& drill : all.value().drills) {
            drill.comes_after = proto::milliseconds(500);
            for (sim::Drill& variant : drill.variants) variant.comes_after = drill.comes_after;
        }
        return std::move(all.value());
    }();
    return few;
}

/// What a trainer has from the machine, here from the input's own clock.
inline tools::TrainerSurroundings surroundings(proto::Instant& now) {
    return {.now = [&now] { return now; },
            .epoch_ms = [&now] { return std::int64_t{1'790'000'000'000} + now.ns / 1'000'000; },
            .random =
                [drawn = 0]() mutable {
                    std::string text = std::to_string(++drawn);
                    return std::string(32 - text.size(), 'c') + text;
                }};
}

}  // namespace fuzz
