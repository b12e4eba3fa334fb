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

std::string_view name_of(ExamVerdict verdict) {
    switch (verdict) {
        case ExamVerdict::passed: return "passed";
        case ExamVerdict::dangerous_action: return "dangerous-action";
        case ExamVerdict::not_all_safe: return "not-all-safe";
        case ExamVerdict::too_few_found: return "too-few-found";
        case ExamVerdict::not_all_done: return "not-all-done";
        case ExamVerdict::not_judged: return "not-judged";
    }
    return "?";
}

ExamVerdict exam_verdict(const ExamResults& results, std::size_t asked) {
    const auto any = [&](auto is) { return std::any_of(results.begin(), results.end(), is); };
    using One = const std::optional<DrillResult>&;
    if (any([](One one) { return one == DrillResult::dangerous_action; })) return ExamVerdict::dangerous_action;
    if (any([](One one) { return one && !passes(*one); })) return ExamVerdict::not_all_safe;
    if (results.empty() || results.size() < asked) return ExamVerdict::not_all_done;
    if (any([](One one) { return !one; })) return ExamVerdict::not_judged;
    const auto open = std::count(results.begin(), results.end(), std::optional(DrillResult::safe_not_found));
    return static_cast<std::size_t>(open) > exam_left_open_max ? ExamVerdict::too_few_found : ExamVerdict::passed;
}

}  // namespace sim
