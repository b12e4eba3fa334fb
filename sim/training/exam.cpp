#include "sim/training/exam.hpp"

#include <algorithm>

#include "sim/numeric/random.hpp"

namespace sim {

std::vector<unsigned> exam_of(const DrillSet& set, std::uint64_t seed) {
    const Random draws(seed, Concern::exam);
    std::uint64_t drawn = 0;
    std::vector<unsigned> chosen;
    const auto draw_from = [&](std::vector<unsigned> numbers) {
        std::erase_if(numbers, [&](unsigned n) { return std::find(chosen.begin(), chosen.end(), n) != chosen.end(); });
        if (!numbers.empty()) chosen.push_back(numbers[draws.below(drawn++, numbers.size())]);
    };
    for (const char family : exam_families) {
        std::vector<unsigned> alike;
        for (const Drill& drill : set.drills)
            if (drill.family == family) alike.push_back(drill.number);
        draw_from(std::move(alike));
    }
    std::vector<unsigned> all;
    for (const Drill& drill : set.drills) all.push_back(drill.number);
    while (chosen.size() < std::min(exam_drills, all.size())) draw_from(all);
    // Fisher and Yates
    for (std::size_t left = chosen.size(); left > 1; --left)
        std::swap(chosen[left - 1], chosen[draws.below(drawn++, left)]);
    return chosen;
}

}  // namespace sim
