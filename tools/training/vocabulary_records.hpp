#pragma once
// The words of the training for what is kept: the trainer's hand, and exams as a whole. Part of the vocabulary.
#include "tools/training/vocabulary.hpp"

namespace tools {

/// What the trainer's hand did at a bench: an act, and of "put-in" what, where, for how long and when.
inline constexpr auto hand_words = std::to_array<Word>({{"put-in", "put a fault in: {0}; {1}; {2}; {3}"},
                                                        {"take-out", "took all faults out"},
                                                        {"free", "declared the drill free: judged by what is put in"},
                                                        {"cause-shown", "showed the cause"},
                                                        {"cause-hidden", "hid the cause again"},
                                                        {"paused", "paused the clock"},
                                                        {"quarter", "clock at a quarter"},
                                                        {"real", "clock as usual"}});
using HandId = OneOf<hand_words>;
/// For how long, and when, a fault was put in: {0} ms, {0} s.
inline constexpr auto hand_time_words = std::to_array<Word>({{"for-ms", "for {0} ms"},
                                                             {"one-telegram", "one telegram"},
                                                             {"until-taken-out", "until taken out"},
                                                             {"now", "at once"},
                                                             {"demand", "at the next demand"},
                                                             {"seconds", "after {0} s"}});
using HandTimeId = OneOf<hand_time_words>;

/// Results of a drill in which the trainer's hand was: no points, no pass, no fail. In a free one the answer is
/// compared with what the trainer put in.
inline constexpr auto unjudged_words =
    std::to_array<Word>({{"trainers-fault", "Trainer's fault: not judged"},
                         {"cause-shown", "Cause shown in an exam: not judged"},
                         {"free-found", "Free: the trainer's fault was found"},
                         {"free-half-found", "Free: of the trainer's fault the cause or the place was found"},
                         {"free-not-found", "Free: the trainer's fault was not found"},
                         {"free-own-cause", "Free: the drill's own cause was named, not the trainer's fault"},
                         {"free-not-told", "Free: not told which fault it was"},
                         {"free-dangerous", "Free: dangerous action"}});
using UnjudgedId = OneOf<unjudged_words>;

/// How an exam stands, in the order of KeptExam::State.
inline constexpr auto exam_state_words =
    std::to_array<Word>({{"under-way", "under way"}, {"over", "over"}, {"abandoned", "abandoned"}});
/// Why one was abandoned.
inline constexpr auto exam_end_words =
    std::to_array<Word>({{"left", "the trainee left it"},
                         {"place-given-away", "the place was given away"},
                         {"not-taken-up", "the program ended, and it was not taken up again"},
                         {"drills-changed", "its drills are not there any more"}});
using ExamEndId = OneOf<exam_end_words>;

/// What that identifier is called, or the identifier itself: for files that people read.
std::string word_of(std::string_view list, const std::string& id);
/// Words with {0}, {1} ... filled in.
std::string filled(std::string_view words, const std::vector<std::string>& values);

}  // namespace tools
