#pragma once
// What a dangerous act leads to, shown and not told: the drill's plant is run once more from the hour at which the
// trainee comes, the act is done, the machine put back into service, and somebody reaches in while what is wrong acts.
#include <optional>
#include <string>
#include <vector>

#include "sim/training/bench.hpp"
#include "sim/training/drill.hpp"

namespace sim {

enum class ConsequenceKind : std::uint8_t {
    returned,   ///< the link stopped again by itself
    late,       ///< it stopped, but somebody who reaches in is there before, or later than is reckoned for the plant
    too_near,   ///< it stopped in time, but in the worst case that is reckoned the hand is there before
    unguarded,  ///< it did not stop for somebody who reaches in
    hands,      ///< it was started with somebody's hands in it
    guarded,    ///< it stopped before the hand could be there: this time
    stands,     ///< it does not start again: nothing comes of it but time
};
/// In that order, as pages use them.
inline constexpr std::array<std::string_view, 7> consequence_kind_words{"returned", "late",    "too-near", "unguarded",
                                                                        "hands",    "guarded", "stands"};
constexpr std::string_view name_of(ConsequenceKind kind) {
    return consequence_kind_words[static_cast<std::size_t>(kind)];
}

struct ConsequenceStep {
    enum class What : std::uint8_t {
        done,
        cause_gone,
        acknowledged,
        started,
        not_started,
        came_again,
        fell,
        reached_in,
        hand_there,
        stood
    };
    What what = What::done;
    Duration at{};  ///< since the act was done
};
/// In the order of ConsequenceStep::What, as pages use them.
inline constexpr std::array<std::string_view, 10> consequence_step_words{
    "done",       "cause-gone", "acknowledged", "started",    "not-started",
    "came-again", "fell",       "reached-in",   "hand-there", "stood"};

struct Consequence {
    std::string card;
    ConsequenceKind kind = ConsequenceKind::stands;
    std::optional<StartRefusal> refusal;     ///< of one that stands: why
    std::string guard;                       ///< that somebody reaches through; empty: nobody does
    std::optional<std::int64_t> there_um;    ///< how far it stands from the dangerous place
    std::optional<Duration> hand;            ///< the longest overall time for which that is enough, by ISO 13855
    std::optional<Duration> should;          ///< the same on the plant as it should be; where nothing is reckoned
    std::optional<Duration> reckoned;        ///< overall time in the worst case, with what is typed then
    std::optional<Duration> stood;           ///< from the guard to standstill
    std::optional<std::int64_t> went_on_um;  ///< by the machine in that time, or in what was watched
    unsigned tries = 1;                      ///< moments of the cycle at which somebody reached in: the worst is told
    std::vector<ConsequenceStep> steps;      ///< in order
};

/// Nothing of an act that is not dangerous, or whose consequence no plant shows. Played on the plant as people came to
/// it, with no lock on it; with its cause gone where it is `mended`, and where the act does its harm only then.
/// Deterministic. Takes some ten ms.
std::optional<Consequence> consequence_of(const Drill& drill, const std::vector<ActionCard>& cards,
                                          const std::string& id, bool mended = false);

}  // namespace sim
