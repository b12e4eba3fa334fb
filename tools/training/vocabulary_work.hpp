#pragma once
// The words of the training for what is done at the plant and what comes of it. Part of the vocabulary.
#include "sim/training/consequence.hpp"
#include "tools/training/vocabulary.hpp"

namespace tools {

/// Where it is done, in the order of sim::WorkPlace.
inline constexpr auto place_words = std::to_array<Word>({{"outside", "outside, before the barrier"},
                                                         {"controller", "at the controller's cabinet"},
                                                         {"io", "at the I/O"},
                                                         {"way", "along the way between the cabinets"},
                                                         {"guard", "at the guards"},
                                                         {"machine", "at the machine"},
                                                         {"office", "in the office"}});

/// What it came to, in the order of sim::WorkEffect. {0} is filled in with what belongs to it.
inline constexpr auto effect_words =
    std::to_array<Word>({{"none", "It changes nothing at the plant by itself."},
                         {"locked", "Isolated and locked. Start was tried: it does not start."},
                         {"stopped", "Emergency stop pressed: it latches. A tag hangs on it."},
                         {"mended", "What was wrong is found there, and put right."},
                         {"nothing-wrong", "Looked at: nothing is wrong there. {0}"},
                         {"typed", "Typed. Whatever was typed at has started anew."},
                         {"fitted", "Another I/O is fitted. It has the address that it came with."},
                         {"nothing-differs", "Nothing to type: both ends have it already."},
                         {"cleared", "Tools and people are out, and what can be closed is closed."},
                         {"seen", "Nobody is in the zone, and no tool lies there."},
                         {"tools-seen", "Tools lie in the zone."},
                         {"unlocked", "Every lock is off. Nothing starts by that."},
                         {"nothing-locked", "No lock was on it."},
                         {"reset", "Reset. Nothing starts by that."},
                         {"nothing-latched", "Nothing was latched."},
                         {"acknowledged", "The link runs. The machine stands until it is started."},
                         {"not-asked", "Nothing asked to be acknowledged: nothing changes."},
                         {"contact-stuck", "The button was pressed. Its contact does not change."},
                         {"stopped-again", "Acknowledged, and stopped again at once."},
                         {"tried", "{0}"},
                         {"started", "It moves."},
                         {"stopped-soon", "It moved, and has stopped again."},
                         {"not-started", "It does not start: {0}."},
                         {"ran", "It ran all the while, and no end stopped."},
                         {"link-fell", "An end of the link stopped after {0}."},
                         {"stood", "It stands: there was nothing to watch."},
                         {"stopped-by-guard", "It came to rest {0} after the guard."},
                         {"ran-on", "The guard was demanded, and it moves on."},
                         {"power-cycled", "Both ends have started anew. What they had counted is gone."},
                         {"bridged", "The guard's contact stays closed, whatever is in it."},
                         {"held", "The contact stays closed."}});

/// What is said of work in an exam whose outcome would tell the answer.
inline constexpr auto effect_untold_words =
    std::to_array<Word>({{"worked", "Done. What it came to shows at the ends, and at the end of the exam."}});

/// What became of one guard that was demanded: {0} is its name.
inline constexpr auto tried_words =
    std::to_array<Word>({{"fell", "{0}: 1 to 0 at both ends"},
                         {"sent-only", "{0}: 0 where it is read, and still 1 at the other end"},
                         {"did-not-fall", "{0}: did not fall"},
                         {"other-fell", "{0}: another signal fell at the other end"},
                         {"was-off", "{0}: was 0 already, so nothing can be seen"}});
using TriedId = OneOf<tried_words>;

/// What a dangerous act leads to, in the order of sim::ConsequenceKind.
inline constexpr auto consequence_words = std::to_array<Word>(
    {{"returned",
      "It ran, and stopped again {0} later. Nobody knows more than before, and somebody may be in it by now."},
     {"late", "It stood only {0} after somebody reached in: too late."},
     {"too-near",
      "This time it stood in time. In the worst case that is reckoned with that watchdog it needs {0}, and a hand is "
      "there after {1}."},
     {"unguarded", "Somebody reached in, and it went on: {0} in what was watched."},
     {"hands", "Somebody else started it while hands were in it: it went {0} in two seconds."},
     {"guarded", "Somebody reached in, and it stood {0} later: this time. It was no worst case."},
     {"stands", "It does not start: {0}. Nothing is won by it."}});
/// In the order of sim::ConsequenceStep::What.
inline constexpr auto consequence_step_words =
    std::to_array<Word>({{"done", "done, on the plant as it was found: no lock on it"},
                         {"cause-gone", "what was wrong is mended; this is still so"},
                         {"acknowledged", "acknowledged"},
                         {"started", "started: it moves"},
                         {"not-started", "start pressed: it does not move"},
                         {"came-again", "what was wrong comes again"},
                         {"fell", "an end of the link stops"},
                         {"reached-in", "somebody reaches in"},
                         {"hand-there", "the hand is there"},
                         {"stood", "the machine stands"}});

}  // namespace tools
