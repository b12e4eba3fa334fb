#include "sim/training/score.hpp"

#include <algorithm>

namespace sim {
namespace {

constexpr unsigned secure_each = 10, evidence_points = 20, where_points = 10, what_points = 15, half_points = 8,
                   action_points = 25, wrong_order_costs = 6, pass_points = 70;
constexpr unsigned secure_points = 3 * secure_each;

bool has(const std::vector<std::string>& list, std::string_view id) {
    return std::find(list.begin(), list.end(), id) != list.end();
}
const Reasoned* find(const std::vector<Reasoned>& list, std::string_view id) {
    const auto found = std::find_if(list.begin(), list.end(), [&](const Reasoned& r) { return r.id == id; });
    return found == list.end() ? nullptr : &*found;
}
bool fits(const std::vector<std::string>& accepted, const std::string& answer) {
    return accepted.empty() || has(accepted, answer);
}

void score_secure(const Drill& drill, const Answers& answers, Score& score) {
    const auto part = [&](std::string_view id, bool done) {
        if (done)
            score.secure += secure_each;
        else
            score.remarks.push_back({Remark::Part::secure, std::string(id), Remark::Says::missing, ""});
    };
    part("keep-out", has(answers.conduct, "keep-out"));
    const bool stopped =
        has(answers.conduct, "emergency-stop") || (has(answers.conduct, "leave-stopped") && !drill.must_be_stopped);
    part(drill.must_be_stopped ? "emergency-stop" : "leave-stopped", stopped);
    part("tell-shift", has(answers.conduct, "tell-shift"));
}

void score_evidence(const Drill& drill, const Answers& answers, Score& score) {
    const bool telling = std::any_of(answers.kept.begin(), answers.kept.end(),
                                     [&](const std::string& reading) { return has(drill.evidence, reading); });
    if (telling)
        score.evidence = evidence_points;
    else
        score.remarks.push_back({Remark::Part::evidence, answers.kept.empty() ? "" : answers.kept.front(),
                                 answers.kept.empty() ? Remark::Says::missing : Remark::Says::not_telling, ""});
}

/// True if the diagnosis is right in both its parts.
bool score_diagnosis(const Drill& drill, const Answers& answers, Score& score) {
    if (answers.cannot_tell || answers.what.empty()) {
        score.remarks.push_back({Remark::Part::diagnosis, "", Remark::Says::missing, ""});
        return false;
    }
    const bool where = has(drill.right.where, answers.where);
    const bool what = has(drill.right.what, answers.what);
    if (where) score.diagnosis += where_points;
    if (what) score.diagnosis += what_points;
    if (!where) score.remarks.push_back({Remark::Part::diagnosis, answers.where, Remark::Says::wrong, ""});
    if (what) return where;
    for (const Finding& half : drill.half)
        if (fits(half.where, answers.where) && fits(half.what, answers.what)) {
            score.diagnosis += half_points;
            score.remarks.push_back({Remark::Part::diagnosis, answers.what, Remark::Says::half_right, drill.half_why});
            return false;
        }
    score.remarks.push_back({Remark::Part::diagnosis, answers.what, Remark::Says::wrong, ""});
    return false;
}

/// Whether what must come one after the other does so: out of the way of the machine, mend, look, acknowledge, restart.
bool in_order(const std::vector<std::string>& actions) {
    constexpr std::array<std::string_view, 4> last{"look-zone", "reset-guard", "acknowledge", "restart-machine"};
    const auto rank = [&](const std::string& id) -> std::size_t {
        if (id == "lock-out" || id == "out-of-service") return 0;
        const auto* const found = std::find(last.begin(), last.end(), id);
        return found == last.end() ? 1 : 2 + static_cast<std::size_t>(found - last.begin());
    };
    return std::is_sorted(actions.begin(), actions.end(),
                          [&](const std::string& a, const std::string& b) { return rank(a) < rank(b); });
}

/// Others are asked to act, or nobody acts: no hand goes in.
constexpr std::array<std::string_view, 6> without_hands{"call-engineer",   "network-people", "engineer-load",
                                                        "unplug-stranger", "out-of-service", "wait-and-see"};

bool locked_out(const Answers& answers) { return has(answers.conduct, "lock-out") || has(answers.actions, "lock-out"); }

/// Whether hands went in before the machine was locked out, or it never was, where the drill asks for that.
bool reached_in_unlocked(const Drill& drill, const Answers& answers) {
    if (find(drill.needed, "lock-out") == nullptr || has(answers.conduct, "lock-out")) return false;
    for (const std::string& id : answers.actions) {
        if (id == "lock-out") return false;
        if (std::find(without_hands.begin(), without_hands.end(), id) == without_hands.end()) return true;
    }
    return true;
}

/// True if all that was needed was done, or somebody was called to a machine that is locked out.
bool score_action(const Drill& drill, const std::vector<ActionCard>& cards, const Answers& answers, Score& score) {
    std::size_t done = 0;
    for (const Reasoned& needed : drill.needed) {
        const bool chosen = needed.id == "lock-out" ? locked_out(answers) : has(answers.actions, needed.id);
        done += chosen ? 1 : 0;
        score.remarks.push_back(
            {Remark::Part::action, needed.id, chosen ? Remark::Says::right : Remark::Says::missing, needed.why});
    }
    const bool called = has(answers.actions, "call-engineer") && locked_out(answers);
    const bool complete = done == drill.needed.size() || called;
    score.action = complete
                       ? action_points
                       : static_cast<unsigned>(action_points * done / std::max<std::size_t>(1, drill.needed.size()));
    for (const std::string& id : answers.actions) {
        if (find(drill.needed, id) != nullptr || id == "lock-out" || id == "call-engineer") continue;
        if (const Reasoned* helpful = find(drill.helpful, id)) {
            score.remarks.push_back({Remark::Part::action, id, Remark::Says::right, helpful->why});
            continue;
        }
        if (id == "look-zone" || id == "acknowledge" || id == "restart-machine") continue;
        const auto card = std::find_if(cards.begin(), cards.end(), [&](const ActionCard& c) { return c.id == id; });
        score.remarks.push_back(
            {Remark::Part::action, id, Remark::Says::no_help, card == cards.end() ? "" : card->why});
    }
    if (!in_order(answers.actions)) {
        score.action -= std::min(score.action, wrong_order_costs);
        score.remarks.push_back({Remark::Part::action, "", Remark::Says::wrong_order, ""});
    }
    return complete;
}

}  // namespace

std::string_view name_of(DrillResult result) {
    switch (result) {
        case DrillResult::safe_and_found: return "safe-and-found";
        case DrillResult::safe_not_found: return "safe-not-found";
        case DrillResult::dangerous_action: return "dangerous-action";
        case DrillResult::not_secured: return "not-secured";
        case DrillResult::not_finished: return "not-finished";
    }
    return "?";
}

std::optional<std::string> danger_of(const Drill& drill, const std::vector<ActionCard>& cards,
                                     const std::vector<std::string>& actions, std::size_t place) {
    const std::string& id = actions[place];
    if (const Reasoned* danger = find(drill.dangers, id)) return danger->why;
    const auto card = std::find_if(cards.begin(), cards.end(), [&](const ActionCard& c) { return c.id == id; });
    if (card != cards.end() && card->kind == ActionCard::Kind::dangerous) return card->why;
    // what lets the machine run again is dangerous before the cause is mended
    if (id != "acknowledge" && id != "restart-machine") return std::nullopt;
    for (const Reasoned& needed : drill.needed) {
        if (needed.id == "acknowledge" || needed.id == "restart-machine") continue;
        const auto before = actions.begin() + static_cast<std::ptrdiff_t>(place);
        if (std::find(actions.begin(), before, needed.id) == before) {
            const auto early = std::find_if(cards.begin(), cards.end(),
                                            [](const ActionCard& c) { return c.id == "acknowledge-early"; });
            return early == cards.end() ? std::string() : early->why;
        }
    }
    return std::nullopt;
}

Score score_of(const Drill& drill, const std::vector<ActionCard>& cards, const Answers& answers) {
    Score score;
    score.dangerous = answers.dangerous;
    for (std::size_t i = 0; i < answers.actions.size(); ++i)
        if (const auto why = danger_of(drill, cards, answers.actions, i))
            score.dangerous.push_back({answers.actions[i], *why});
    score_secure(drill, answers, score);
    score_evidence(drill, answers, score);
    const bool found = score_diagnosis(drill, answers, score);
    const bool complete = answers.acted && score_action(drill, cards, answers, score);
    if (!score.dangerous.empty())
        score.result = DrillResult::dangerous_action;
    else if (!answers.acted)
        score.result = DrillResult::not_finished;
    else if (score.secure < secure_points || reached_in_unlocked(drill, answers))
        score.result = DrillResult::not_secured;
    else if (found && complete && score.points() >= pass_points)
        score.result = DrillResult::safe_and_found;
    else
        score.result = complete ? DrillResult::safe_not_found : DrillResult::not_finished;
    return score;
}

}  // namespace sim
