#pragma once
// What a trainee's answers are worth: conduct before speed. Time gives and takes nothing, and neither do instruments.
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sim/training/drill.hpp"

namespace sim {

/// What a trainee did and said in one drill.
struct Answers {
    std::vector<std::string> conduct;  ///< conduct_words, in the order in which they were done
    std::vector<std::string> kept;     ///< readings kept as evidence before naming; more than kept_max tell nothing
    bool cannot_tell = false;
    std::string where, what, because;    ///< empty: not named
    std::string link;                    ///< the name of the link that is meant, where there are several
    std::vector<std::string> actions;    ///< ids of cards, in the order in which they were done; at most actions_max
    std::vector<std::string> in_vain;    ///< of these what never had an effect at the plant: it is still to do
    std::vector<std::string> effective;  ///< of these what changed something there
    bool acted = false;                  ///< it was handed over
    bool stopped_late = false;           ///< something was looked at while a machine moved that had to be stopped first
    /// Dangerous acts at the bench: they stay done, whatever came after.
    std::vector<Reasoned> dangerous;
    /// Dangerous cards that were explained and taken back before anything was done (practice only).
    std::vector<Reasoned> corrected;
};

/// The whole way back to service twice, since who acknowledges too early comes again, and some more.
inline constexpr std::size_t actions_max = 30;
/// Evidence is a choice: who keeps everything has chosen nothing.
inline constexpr std::size_t kept_max = 3;

enum class DrillResult : std::uint8_t {
    safe_and_found,
    safe_not_found,
    dangerous_action,
    not_secured,
    nothing_read,  ///< all is safe, but nothing was kept that tells this drill from its look-alikes
    not_finished,
};
std::string_view name_of(DrillResult result);  ///< "safe-and-found" and so on
constexpr bool passes(DrillResult result) {
    return result == DrillResult::safe_and_found || result == DrillResult::safe_not_found;
}

/// Points of the part `secure`, where all was done.
inline constexpr unsigned secure_points_all = 30;

/// A remark on one of the parts of the score.
struct Remark {
    enum class Part : std::uint8_t { secure, evidence, diagnosis, action };
    Part part = Part::secure;
    std::string about;  ///< id of the choice, or empty
    enum class Says : std::uint8_t {
        missing,  ///< should have been done
        right,
        half_right,
        wrong,
        no_help,  ///< safe, but no help
        wrong_order,
        not_telling,  ///< the reading kept does not tell it apart
        too_many,     ///< readings were kept to choose one
        no_effect,    ///< it does nothing there: the machine does not start, or the bits are 0 already
        corrected,    ///< dangerous, explained, and taken back
    };
    Says says = Says::right;
    std::string why;
};

struct Score {
    DrillResult result = DrillResult::not_finished;
    unsigned secure = 0, evidence = 0, diagnosis = 0, action = 0;
    std::vector<Reasoned> dangerous;  ///< if any, points are not shown
    std::vector<Reasoned> corrected;  ///< as in Answers
    std::vector<Remark> remarks;
    [[nodiscard]] unsigned points() const { return secure + evidence + diagnosis + action; }
};

/// Requires cards that hold every action that the drill names.
Score score_of(const Drill& drill, const std::vector<ActionCard>& cards, const Answers& answers);

/// Why an action is dangerous in this drill, at its place in the order: its own reason, or the step that must come
/// before it and does not. Nothing if it is not.
std::optional<std::string> danger_of(const Drill& drill, const std::vector<ActionCard>& cards, const Answers& answers,
                                     std::size_t place);

}  // namespace sim
