#include "sim/training/score.hpp"

#include <algorithm>
#include <utility>

#include "sim/training/way_back.hpp"

namespace sim {
namespace {

constexpr unsigned secure_points = secure_points_all, evidence_points = 20, where_points = 10, what_points = 15,
                   half_points = 8, action_points = 25, wrong_order_costs = 6, pass_points = 70;

bool has(const std::vector<std::string>& list, std::string_view id) {
    return std::find(list.begin(), list.end(), id) != list.end();
}
bool fits(const std::vector<std::string>& accepted, const std::string& answer) {
    return accepted.empty() || has(accepted, answer);
}

constexpr unsigned stop_points = 10;

/// How many things were done before the machine was stopped.
std::size_t rank_of_stop(const std::vector<std::string>& conduct) {
    const auto stop = std::find_if(conduct.begin(), conduct.end(),
                                   [](const std::string& id) { return id == "emergency-stop" || id == "lock-out"; });
    return static_cast<std::size_t>(stop - conduct.begin());
}

/// Standstill, and what the place asks for by who stands where; in parts of equal worth.
void score_secure(const Drill& drill, const Answers& answers, Score& score) {
    const auto missing = [&](std::string_view id, std::string why = {}) {
        score.remarks.push_back({Remark::Part::secure, std::string(id), Remark::Says::missing, std::move(why)});
    };
    const auto done = [&](std::string_view id) { return has(answers.conduct, id); };
    // whoever isolates it has stopped it
    const bool stopped =
        done("emergency-stop") || done("lock-out") || (done("leave-stopped") && !drill.must_be_stopped);
    if (stopped && !answers.stopped_late)
        score.secure += stop_points;
    else
        missing(drill.must_be_stopped ? "emergency-stop" : "leave-stopped",
                stopped ? "It moved while you looked: stop it first." : "");
    std::size_t right = 0;
    for (const Reasoned& asked : drill.secure) {
        // who has people step back bars the way in behind them
        const bool so = done(asked.id) || (asked.id == "keep-out" && done("people-back"));
        right += so ? 1 : 0;
        if (!so) missing(asked.id, asked.why);
    }
    constexpr unsigned rest = secure_points - stop_points;
    score.secure += drill.secure.empty() ? rest : static_cast<unsigned>(rest * right / drill.secure.size());
    if (drill.must_be_stopped && stopped && rank_of_stop(answers.conduct) > 0)
        score.remarks.push_back({Remark::Part::secure, answers.conduct.front(), Remark::Says::wrong_order,
                                 "It moved all the while: stop it first."});
}

void score_evidence(const Drill& drill, const Answers& answers, Score& score) {
    using Says = Remark::Says;
    const bool telling = std::any_of(answers.kept.begin(), answers.kept.end(),
                                     [&](const std::string& reading) { return has(drill.evidence, reading); });
    const Says says = answers.kept.empty()             ? Says::missing
                      : answers.kept.size() > kept_max ? Says::too_many
                      : telling                        ? Says::right
                                                       : Says::not_telling;
    if (says == Says::right)
        score.evidence = evidence_points;
    else
        score.remarks.push_back(
            {Remark::Part::evidence, answers.kept.empty() ? std::string() : answers.kept.front(), says, ""});
}

/// True if the diagnosis is right in both its parts.
bool score_diagnosis(const Drill& drill, const Answers& answers, Score& score) {
    if (answers.cannot_tell || answers.what.empty()) {
        score.remarks.push_back({Remark::Part::diagnosis, "", Remark::Says::missing, ""});
        return false;
    }
    // what is said of another link is right nowhere
    const bool link = fits(drill.right.link, answers.link);
    const bool where = link && has(drill.right.where, answers.where);
    const bool what = link && has(drill.right.what, answers.what);
    if (where) score.diagnosis += where_points;
    if (what) score.diagnosis += what_points;
    const bool half = std::any_of(drill.half.begin(), drill.half.end(), [&](const Finding& one) {
        const bool of_link = one.link.empty() ? link : has(one.link, answers.link);
        return of_link && fits(one.where, answers.where) && fits(one.what, answers.what);
    });
    if (!link) score.remarks.push_back({Remark::Part::diagnosis, answers.link, Remark::Says::wrong, ""});
    if (link && !where) score.remarks.push_back({Remark::Part::diagnosis, answers.where, Remark::Says::wrong, ""});
    if (what) return where;
    if (half) {
        score.diagnosis += half_points;
        score.remarks.push_back({Remark::Part::diagnosis, answers.what, Remark::Says::half_right, drill.half_why});
    } else if (link) {
        score.remarks.push_back({Remark::Part::diagnosis, answers.what, Remark::Says::wrong, ""});
    }
    return false;
}

/// Whether what must come one after the other does so; of what was done more than once the last time counts.
bool in_order(const std::vector<std::string>& actions) {
    // on a link that runs, guards are demanded whenever it helps; stopped, it shows nothing before it is acknowledged
    const bool acknowledged = has(actions, "acknowledge");
    std::vector<std::size_t> ranks;
    for (auto one = actions.begin(); one != actions.end(); ++one)
        if (std::find(one + 1, actions.end(), *one) == actions.end() && (*one != "demand-guards" || acknowledged))
            ranks.push_back(rank_on_way_back(*one));
    return std::is_sorted(ranks.begin(), ranks.end());
}

bool locked_out(const Answers& answers) { return has(answers.conduct, "lock-out") || has(answers.actions, "lock-out"); }

/// The lock is still on: nobody has taken it off since.
bool stays_locked(const Answers& answers) {
    bool locked = has(answers.conduct, "lock-out");
    for (const std::string& id : answers.actions) {
        if (id == "lock-out") locked = true;
        if (id == "locks-off" || id == "cut-lock") locked = false;
    }
    return locked;
}

/// What was done in vain is still to do.
bool chosen(const Answers& answers, const Needed& needed) {
    if (needed.id == "lock-out") return locked_out(answers);
    const auto done = [&](const std::string& id) { return has(answers.actions, id) && !has(answers.in_vain, id); };
    return done(needed.id) || std::any_of(needed.others.begin(), needed.others.end(), done);
}

/// Whether the drill asks for a lock-out, and it was not so from the first step or among the actions.
bool left_unlocked(const Drill& drill, const Answers& answers) {
    return !locked_out(answers) && find_by_id(drill.needed, "lock-out") != nullptr;
}

/// Whether the link has stopped and waits, or will wait, to be acknowledged.
bool waits_for_acknowledgement(const Drill& drill) {
    return drill.expect.asks_for_acknowledgement() || drill.expect.controller_stopped();
}

Remark about_action(const std::string& id, Remark::Says says, std::string why) {
    return {Remark::Part::action, id, says, std::move(why)};
}

/// What an action does that nobody asked for.
Remark remark_on(const Drill& drill, const std::vector<ActionCard>& cards, const Answers& answers, std::size_t place) {
    using Says = Remark::Says;
    const std::string& id = answers.actions[place];
    const auto earlier = [&](std::string_view other) {
        const auto end = answers.actions.begin() + static_cast<std::ptrdiff_t>(place);
        return std::find(answers.actions.begin(), end, other) != end;
    };
    const bool stopped_link = waits_for_acknowledgement(drill);
    if (has(answers.effective, id) && (id == "type-from-sheet" || lets_it_run_again(id) || id == "demand-guards"))
        return about_action(id, Says::right, "");
    if (has(answers.in_vain, id)) return about_action(id, Says::no_effect, "It was done, and nothing came of it.");
    if (id == "acknowledge" && !stopped_link)
        return about_action(id, Says::no_effect, "Nothing asks to be acknowledged here.");
    const auto& guards = drill.scenario.safeguards;
    const bool stop_latched = has(answers.conduct, "emergency-stop") || earlier("out-of-service");
    if (id == "reset-guard" && !stop_latched &&
        std::none_of(guards.begin(), guards.end(), [](const auto& g) { return g.latched; }))
        return about_action(id, Says::no_effect, "No guard latches here.");
    if (id == "restart-machine" && stopped_link && !earlier("acknowledge"))
        return about_action(id, Says::no_effect,
                            "The link still waits to be acknowledged: the machine does not start.");
    if (id == "demand-guards" && stopped_link && !earlier("acknowledge"))
        return about_action(id, Says::no_effect,
                            "On a stopped link every bit is 0 already: nothing can be seen before it runs.");
    if (const Reasoned* helpful = find_by_id(drill.helpful, id)) return about_action(id, Says::right, helpful->why);
    if (const Reasoned* none = find_by_id(drill.no_help, id)) return about_action(id, Says::no_help, none->why);
    const ActionCard* const card = find_by_id(cards, id);
    if (card == nullptr) return about_action(id, Says::no_help, "");
    const bool good = card->kind == ActionCard::Kind::good_practice;
    return about_action(id, good ? Says::right : Says::no_help, card->why);
}

/// True if all that was needed was done, or somebody was called to a machine that is locked out.
bool score_action(const Drill& drill, const std::vector<ActionCard>& cards, const Answers& answers, Score& score) {
    using Says = Remark::Says;
    std::size_t done = 0;
    const auto asked_for = [&](const std::string& id) {
        return std::any_of(drill.needed.begin(), drill.needed.end(),
                           [&](const Needed& n) { return n.id == id || has(n.others, id); });
    };
    const auto done_before = [&](std::size_t place) {
        const auto end = answers.actions.begin() + static_cast<std::ptrdiff_t>(place);
        return std::find(answers.actions.begin(), end, *end) != end;
    };
    for (const Needed& needed : drill.needed) {
        const bool so = chosen(answers, needed);
        done += so ? 1 : 0;
        score.remarks.push_back(about_action(needed.id, so ? Says::right : Says::missing, needed.why));
    }
    const bool called = has(answers.actions, "call-engineer") && stays_locked(answers);
    const bool complete = done == drill.needed.size() || called;
    score.action = complete
                       ? action_points
                       : static_cast<unsigned>(action_points * done / std::max<std::size_t>(1, drill.needed.size()));
    for (std::size_t i = 0; i < answers.actions.size(); ++i)
        if (!asked_for(answers.actions[i]) && !done_before(i) && !danger_of(drill, cards, answers, i))
            score.remarks.push_back(remark_on(drill, cards, answers, i));
    if (has(answers.actions, "restart-machine") && !has(answers.in_vain, "restart-machine") &&
        !has(answers.actions, "watch-cycle")) {
        const ActionCard* const watch = find_by_id(cards, "watch-cycle");
        if (watch != nullptr) score.remarks.push_back(about_action(watch->id, Says::missing, watch->why));
    }
    if (!in_order(answers.actions)) {
        score.action -= std::min(score.action, wrong_order_costs);
        score.remarks.push_back(about_action("", Says::wrong_order, ""));
    }
    for (const Reasoned& one : answers.corrected)
        score.remarks.push_back(about_action(one.id, Says::corrected, one.why));
    return complete;
}

}  // namespace

std::string_view name_of(DrillResult result) {
    switch (result) {
        case DrillResult::safe_and_found: return "safe-and-found";
        case DrillResult::safe_not_found: return "safe-not-found";
        case DrillResult::dangerous_action: return "dangerous-action";
        case DrillResult::not_secured: return "not-secured";
        case DrillResult::nothing_read: return "nothing-read";
        case DrillResult::not_finished: return "not-finished";
    }
    return "?";
}

Score score_of(const Drill& drill, const std::vector<ActionCard>& cards, const Answers& answers) {
    Score score;
    score.dangerous = answers.dangerous;
    score.corrected = answers.corrected;
    for (std::size_t i = 0; i < answers.actions.size(); ++i)
        if (const auto why = danger_of(drill, cards, answers, i)) score.dangerous.push_back({answers.actions[i], *why});
    score_secure(drill, answers, score);
    score_evidence(drill, answers, score);
    const bool found = score_diagnosis(drill, answers, score);
    const bool complete = answers.acted && score_action(drill, cards, answers, score);
    if (!score.dangerous.empty())
        score.result = DrillResult::dangerous_action;
    else if (!answers.acted)
        score.result = DrillResult::not_finished;
    else if (score.secure < secure_points || left_unlocked(drill, answers))
        score.result = DrillResult::not_secured;
    else if (!complete)
        score.result = DrillResult::not_finished;
    else if (score.evidence == 0)
        score.result = DrillResult::nothing_read;
    else
        score.result =
            found && score.points() >= pass_points ? DrillResult::safe_and_found : DrillResult::safe_not_found;
    return score;
}

}  // namespace sim
