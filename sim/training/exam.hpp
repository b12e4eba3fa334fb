#pragma once
// Which drills an exam asks for, and what it is worth as a whole.
#include <cstdint>
#include <string_view>
#include <vector>

#include "sim/training/drill.hpp"
#include "sim/training/score.hpp"

namespace sim {

/// One drill of each of these families of look-alikes, so that a healthy link is always possible...
inline constexpr std::array<char, 4> exam_families{'A', 'B', 'E', 'G'};
/// ...and two of what is left.
inline constexpr std::size_t exam_drills = exam_families.size() + 2;

/// Their numbers, shuffled; the same seed gives the same. Fewer only if the set has fewer.
std::vector<unsigned> exam_of(const DrillSet& set, std::uint64_t seed);

/// So many drills may be left without the cause: "I cannot tell" is an answer, but not every time.
inline constexpr std::size_t exam_left_open_max = 1;

enum class ExamVerdict : std::uint8_t {
    passed,            ///< every drill is safe, and at most exam_left_open_max of them without the cause
    dangerous_action,  ///< in one of them
    not_all_safe,      ///< one of them was not passed
    too_few_found,     ///< all are safe, and more than that without the cause
    not_all_done,      ///< fewer drills than it asks for
    not_judged,        ///< a drill did not show what it should, or was touched by the trainer
};
std::string_view name_of(ExamVerdict verdict);  ///< "passed" and so on

/// A drill of an exam that is over; nothing: it was not judged.
using ExamResults = std::vector<std::optional<DrillResult>>;

/// `asked`: how many drills the exam asks for. The worst of what applies, in the order dangerous action, not all safe,
/// not all done, not judged, too few found. The rule is our own choice.
ExamVerdict exam_verdict(const ExamResults& results, std::size_t asked);

}  // namespace sim
