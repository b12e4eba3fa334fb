// Which actions are dangerous where they stand, and the step that is missing before them.
#include <algorithm>

#include "sim/training/score.hpp"
#include "sim/training/way_back.hpp"

namespace sim {
namespace {

class StepsBefore {
  public:
    StepsBefore(const Answers& answers, std::size_t place) : answers_(answers), place_(place) {}
    [[nodiscard]] bool has(std::string_view id) const {
        const auto end = answers_.actions.begin() + static_cast<std::ptrdiff_t>(place_);
        if (std::find(answers_.actions.begin(), end, id) != end) return true;
        // what was done in the first step stays done
        return id == "lock-out" &&
               std::find(answers_.conduct.begin(), answers_.conduct.end(), id) != answers_.conduct.end();
    }
    [[nodiscard]] bool has(const Needed& needed) const {
        return has(std::string_view(needed.id)) ||
               std::any_of(needed.others.begin(), needed.others.end(), [&](const std::string& id) { return has(id); });
    }

    [[nodiscard]] bool hands_went_in(const std::vector<ActionCard>& cards) const {
        return std::any_of(answers_.actions.begin(), answers_.actions.begin() + static_cast<std::ptrdiff_t>(place_),
                           [&](const std::string& id) {
                               const ActionCard* const card = find_by_id(cards, id);
                               return card != nullptr && card->hands;
                           });
    }

  private:
    const Answers& answers_;
    std::size_t place_;
};

/// Whether the drill ends with the machine out of service: whoever it is handed to gives it back, nobody else.
bool stays_out(const Drill& drill) {
    return find_by_id(drill.needed, "out-of-service") != nullptr ||
           find_by_id(drill.needed, "call-engineer") != nullptr;
}

std::string missing(const std::vector<ActionCard>& cards, std::string_view id, std::string_view why) {
    const ActionCard* const card = find_by_id(cards, id);
    return "Before that comes: " + (card == nullptr ? std::string(id) : card->words) + ". " + std::string(why);
}

/// What must have been done before `id`, and is not; in the order in which it is done.
std::optional<std::string> missing_before(const Drill& drill, const std::vector<ActionCard>& cards,
                                          const StepsBefore& before, std::string_view id) {
    const std::size_t rank = rank_on_way_back(id);
    for (const Needed& needed : drill.needed) {
        if (needed.id == id || rank_on_way_back(needed.id) >= rank || before.has(needed)) continue;
        if (only_keeps_it_standing(needed.id)) continue;
        return missing(cards, needed.id, needed.why);
    }
    if (before.hands_went_in(cards) && !before.has("tools-out"))
        return missing(cards, "tools-out", "Hands were in it: a tool may lie there still, or a guard stand open.");
    if (before.has("look-zone")) return std::nullopt;
    return missing(cards, "look-zone", "Somebody may be in it, or a tool: nobody has looked.");
}

}  // namespace

std::optional<std::string> danger_of(const Drill& drill, const std::vector<ActionCard>& cards, const Answers& answers,
                                     std::size_t place) {
    const std::string& id = answers.actions[place];
    if (const Reasoned* const danger = find_by_id(drill.dangers, id)) return danger->why;
    const ActionCard* const card = find_by_id(cards, id);
    if (card != nullptr && card->kind == ActionCard::Kind::dangerous) return card->why;
    const StepsBefore before(answers, place);
    if (card != nullptr && card->hands && !before.has("lock-out"))
        return missing(cards, "lock-out",
                       "Hands go in for this. An emergency stop is no isolation: a twist resets it.");
    if (lets_it_run_again(id) && stays_out(drill))
        return "It stays out of service: the fault is not mended, and the engineer gives it back, nobody else.";
    return lets_it_run_again(id) ? missing_before(drill, cards, before, id) : std::nullopt;
}

}  // namespace sim
