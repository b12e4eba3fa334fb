#pragma once
// The words of the training: what each identifier is called on the pages. They stand here alone; a page asks for them
// once, at /api/words. {0}, {1} ... are filled in by the page.
#include <algorithm>
#include <array>
#include <string_view>

#include "sim/scenario/scenario.hpp"
#include "tools/text/value.hpp"

namespace tools {

struct Word {
    std::string_view id, text;
};

/// An identifier that has its word in that list: any other does not compile.
template <const auto& words>
class OneOf {
  public:
    // NOLINTNEXTLINE(google-explicit-constructor): a literal is to be written as it is
    consteval OneOf(const char* id) : id_(id) {
        if (std::none_of(words.begin(), words.end(), [&](const Word& word) { return word.id == id_; }))
            throw "no word in the list has this identifier";
    }
    [[nodiscard]] constexpr std::string_view id() const { return id_; }

  private:
    std::string_view id_;
};

// ---- what a trainee does ----

/// What can be read at the plant, by an instrument or a walk. It takes the time that people take: the plant runs on
/// meanwhile, and no other clock.
inline constexpr auto instruments = std::to_array<Word>({{"controller-panel", "Read controller"},
                                                         {"io-panel", "Walk to the I/O"},
                                                         {"time-line", "Time line"},
                                                         {"telegrams", "Telegrams"},
                                                         {"settings", "Compare settings"},
                                                         {"neighbour", "Look at the neighbour"}});

/// How a guard is demanded, by its kind; "other" where the plant does not say what it is.
inline constexpr auto demand_words = std::to_array<Word>({{"mat", "Step on the {0}"},
                                                          {"curtain", "Hold the test rod into the {0}"},
                                                          {"field", "Hold the test rod into the {0}"},
                                                          {"interlocked-guard", "Open the {0}"},
                                                          {"emergency-stop", "Pull or press the {0}"},
                                                          {"two-hand", "Let go of the {0}"},
                                                          {"enabling", "Let go of the {0}"},
                                                          {"other", "Demand the {0}"}});
/// The same once it is done.
inline constexpr auto demanded_words = std::to_array<Word>({{"mat", "{0} stepped on"},
                                                            {"curtain", "{0} interrupted"},
                                                            {"field", "{0} interrupted"},
                                                            {"interlocked-guard", "{0} opened"},
                                                            {"emergency-stop", "{0} pulled or pressed"},
                                                            {"two-hand", "{0} let go"},
                                                            {"enabling", "{0} let go"},
                                                            {"other", "{0} demanded"}});

/// The acts at a drill, as Exercise::act() takes them, and what their buttons say.
inline constexpr auto act_words = std::to_array<Word>({{"step", "{0}"},
                                                       {"conduct", "{0}"},
                                                       {"instrument", "{0}"},
                                                       {"demand", "{0}"},
                                                       {"keep", "Keep this as evidence: {0}"},
                                                       {"acknowledge", "Acknowledge"},
                                                       {"reset", "Reset guard"},
                                                       {"restart", "Restart machine"},
                                                       {"hint", "A hint"},
                                                       {"cannot-tell", "I cannot tell"},
                                                       {"name", "This is my diagnosis"},
                                                       {"work", "{0}"},
                                                       {"hand-over", "Hand over"},
                                                       {"understood", "Understood, go on"}});
using ActId = OneOf<act_words>;

/// What was done, in the log of an exercise.
inline constexpr auto log_words = std::to_array<Word>({{"came", "I came to the machine."},
                                                       {"step", "Step {0}."},
                                                       {"conduct", "{0}."},
                                                       {"conduct-not", "Not after all: {0}."},
                                                       {"instrument", "{0}."},
                                                       {"demand", "Demanded: {0}."},
                                                       {"keep", "Kept: {0}."},
                                                       {"drop", "Dropped: {0}."},
                                                       {"acknowledge", "Acknowledged."},
                                                       {"reset", "Reset the guards."},
                                                       {"restart", "Pressed start."},
                                                       {"acknowledge-link", "Acknowledged: {0}."},
                                                       {"restart-link", "Pressed start: {0}."},
                                                       {"not-started", "It did not start: {0}."},
                                                       {"hint", "Took a hint."},
                                                       {"cannot-tell", "I cannot tell."},
                                                       {"named", "Named it."},
                                                       {"danger", "Dangerous: {0}."},
                                                       {"taken-back", "Dangerous, explained and taken back: {0}."},
                                                       {"work-begun", "{0}."},
                                                       {"work-found", "{0}"},
                                                       {"came-again", "What was wrong came again."},
                                                       {"done", "Handed over."},
                                                       {"cause-shown", "The trainer showed the cause."},
                                                       {"cause-hidden", "The trainer hid the cause again."},
                                                       {"put-in", "The trainer put a fault in: {0}."},
                                                       {"taken-out", "The trainer took all faults out."}});
using LogId = OneOf<log_words>;

/// Dangerous acts at the bench, besides those of the action cards.
inline constexpr auto danger_words =
    std::to_array<Word>({{"acknowledge-early", "Acknowledge and see"},
                         {"restart-early", "Restart the machine before the cause is mended"},
                         {"reset-early", "Reset a guard that somebody latched, before anybody has looked"}});
using DangerId = OneOf<danger_words>;

// ---- what the bench shows ----

inline constexpr auto event_words =
    std::to_array<Word>({{"record-begins", "The record begins. What was before is not on it."},
                         {"left-out", "{0} more, left out here."},
                         {"changed", "{0}: {1}, {2}"},
                         {"acknowledged", "acknowledged"},
                         {"acknowledged-in-vain", "Acknowledged. No effect: nothing asked to be acknowledged."},
                         {"contact-stuck", "Button pressed. The contact does not change."},
                         {"machine-started", "machine started"},
                         {"machine-not-started", "start pressed, the machine does not start: {0}"},
                         {"machine-may-run", "drive: stop taken back"},
                         {"machine-told-to-stop", "drive: told to stop"},
                         {"demanded", "{0}"},
                         {"released", "{0}: free of the demand again"},
                         {"released-latched", "{0}: let go; it stays latched until it is reset"},
                         {"reset", "{0} reset"},
                         {"emergency-pressed", "emergency stop pressed: it latches"},
                         {"emergency-pulled", "emergency stop pulled again: nothing starts by that"},
                         {"isolated", "isolated and locked: no power, and what could fall is blocked"},
                         {"given-back", "locks taken off: nothing starts by that"},
                         {"fault", "THE CAUSE ACTS: {0}"},
                         {"guard-asked", "THE CAUSE ACTS: {0}"},
                         {"reached-in", "somebody reaches in: {0}"},
                         {"fault-past", "a fault that is over: {0}"},
                         {"fault-by-hand", "THE TRAINER'S FAULT ACTS: {0}"},
                         {"refused", "start refused"}});
using EventId = OneOf<event_words>;

/// Why a machine does not start, in the order of sim::StartRefusal.
inline constexpr auto not_started_words = std::to_array<Word>({{"no-machine", "there is none"},
                                                               {"runs-already", "it runs already"},
                                                               {"isolated", "it is isolated and locked"},
                                                               {"emergency-stop", "its emergency stop is latched"},
                                                               {"link-stopped", "the link is stopped"},
                                                               {"stop-asked-for", "a signal still asks for a stop"}});

/// Around what the samples of a debrief were taken.
inline constexpr auto strip_of_words =
    std::to_array<Word>({{"stop", "Around the first stop of an end."},
                         {"demand", "Around demands on guards: no end of the link stopped."},
                         {"begin", "From the begin of the record: no end stopped, and no guard was demanded."}});
using StripOfId = OneOf<strip_of_words>;

/// What an end made of a telegram.
inline constexpr auto verdict_words = std::to_array<Word>({{"sent", "sent"},
                                                           {"accepted", "accepted"},
                                                           {"again", "nothing new"},
                                                           {"ignored", "passed over"},
                                                           {"start", "of a start"},
                                                           {"rejected", "rejected"},
                                                           {"waiting", "not looked at yet"}});
using VerdictId = OneOf<verdict_words>;

/// Rows of the comparison of settings.
inline constexpr auto setting_words = std::to_array<Word>({{"controller-address", "address of the controller"},
                                                           {"io-address", "address of the I/O"},
                                                           {"cycle", "cycle"},
                                                           {"controller-watchdog", "watchdog of the controller"},
                                                           {"io-watchdog", "watchdog of the I/O"},
                                                           {"bit", "bit of {0}"}});
using SettingId = OneOf<setting_words>;

/// Whether the CRC covers a field; in the order of sim::ExplainedField::Covered.
inline constexpr auto covered_words = std::to_array<Word>(
    {{"no", "no"}, {"yes", "yes"}, {"implied", "yes, though not in the bytes"}, {"value", "this is the CRC"}});

// ---- what it was worth ----

/// Parts of the score, in the order of sim::Remark::Part.
inline constexpr auto part_words = std::to_array<Word>(
    {{"secure", "Secure"}, {"evidence", "Evidence"}, {"diagnosis", "Diagnosis"}, {"action", "Action"}});
/// What a remark says, in the order of sim::Remark::Says.
inline constexpr auto remark_words = std::to_array<Word>({{"missing", "Missing"},
                                                          {"right", "Right"},
                                                          {"half-right", "Half right"},
                                                          {"wrong", "Not right"},
                                                          {"no-help", "Safe, but no help"},
                                                          {"wrong-order", "The order"},
                                                          {"not-telling", "What was kept does not tell it apart"},
                                                          {"too-many", "Too many were kept to have chosen one"},
                                                          {"no-effect", "Without effect"},
                                                          {"corrected", "Dangerous, explained and taken back"}});
/// Remarks that are about no choice, as whole sentences: part, hyphen, what is said.
inline constexpr auto whole_remark_words = std::to_array<Word>(
    {{"evidence-missing", "Evidence: no reading was kept."},
     {"diagnosis-missing", "Diagnosis: left open."},
     {"action-wrong-order",
      "Action: the order. Lock out, mend, tools out, look into the zone, locks off, reset, acknowledge, demand each "
      "guard, restart, watch the first cycles, one stop from motion."}});

/// Verdicts on an exam, in the order of sim::ExamVerdict.
inline constexpr auto exam_words =
    std::to_array<Word>({{"passed", "Exam passed"},
                         {"dangerous-action", "Exam not passed: a dangerous action"},
                         {"not-all-safe", "Exam not passed: a drill was not passed"},
                         {"too-few-found", "Exam not passed: the cause was left open more than once"},
                         {"not-all-done", "Exam not passed: not all drills were done"},
                         {"not-judged", "Exam not judged: a drill of it could not be judged"}});

// ---- refusals that a page may meet in ordinary use; all others are told in the words of the reply ----

inline constexpr auto refusal_words = std::to_array<Word>(
    {{"code-wrong", "That code does not fit. Ask the trainer."},
     {"code-too-soon", "Too many wrong codes. Wait a second, and try again."},
     {"room-full", "All 30 places are taken. Ask the trainer to free one."},
     {"name-missing", "Write your name or initials."},
     {"exam-under-way", "An exam is under way."},
     {"no-drills", "No drills found. linkdrill brings 24; were they installed?"},
     {"nothing-kept", "Keep at least one reading in step 2, or choose \"I cannot tell\"."},
     {"enough-kept", "Three readings are kept. Evidence is a choice: drop one first."},
     {"still-moves", "It still moves. Stop it before you look."},
     {"it-moves", "It moves: there is nothing to leave stopped."},
     {"where or what is missing", "Choose where it is and what it is."},
     {"link is missing", "Choose which link it is."},
     {"name-unfit", "A name may hold letters, digits, blanks and signs that can be seen. Type it anew."},
     {"joined-already", "This browser has a place already. Load this page anew."},
     {"address-full", "Three people have joined from this computer already. Ask the trainer to free a place."},
     {"lasting-wrong", "For how long: a whole number of milliseconds from 1 to 600000."},
     {"after-wrong", "After how many seconds: a whole number from 0 to 60."},
     {"drill-over", "That drill is over."},
     {"busy", "Something is being done at the plant. Wait until it is over."},
     {"not-in-act", "First say what you think it is, or that you cannot tell."},
     {"too-many-acts", "More is not done in one drill. Hand it over."},
     {"named-stands", "You have acted on it: what you named stands."},
     {"nothing-done", "Nothing was done yet."},
     {"free-in-exam", "An exam is judged by its own drills: nothing is free in it."},
     {"all-in-exams", "Nobody else is at a drill. Those in an exam are left out; choose one of them."},
     {"in-an-exam", "That trainee is in an exam. With this the drill counts as not judged: confirm it."},
     {"exam-stays", "What was done in an exam stays as it is."},
     {"place-given-away",
      "The trainer gave your place away. What you handed in is kept, what was "
      "under way has ended. Join again if you are to go on."},
     {"not-confirmed", "Nothing was deleted: it was not confirmed."}});
using RefusalId = OneOf<refusal_words>;

// ---- the instructor's hand ----

/// The faults that an instructor can put in, each the plainest way of its error, in the order in which they are
/// offered.
inline constexpr std::array fault_ways{sim::FaultWay::drop,   sim::FaultWay::random_bits, sim::FaultWay::instead,
                                       sim::FaultWay::hold,   sim::FaultWay::step,        sim::FaultWay::neighbour,
                                       sim::FaultWay::no_crc, sim::FaultWay::swap,        sim::FaultWay::restart,
                                       sim::FaultWay::stall,  sim::FaultWay::frozen_data, sim::FaultWay::clock_drift};
/// Where: words of a finding.
inline constexpr std::array<std::string_view, 5> fault_places{"way-out", "way-back", "both-ways", "controller", "io"};
inline constexpr unsigned fault_lasting_max_ms = 600'000;
inline constexpr unsigned fault_after_max_s = 60;

/// What a fault is in the words of a finding: its error, or for a fault of an end its way.
std::string_view what_of(sim::FaultWay way);

/// All of it, for the pages: "words" (by list, by identifier), "faults" (what each is, by way), "fault_places" and
/// "limits".
Value vocabulary();

}  // namespace tools
