// Drills.
#include "sim/reading/key_words.hpp"

namespace sim {
namespace {

constexpr KeyRow drill_rows[] = {
    {"number title story people",
     "what the trainee is told; `people`: who stands where. A title does not tell the cause", "needed"},
    {"secure",
     "`{ conduct, why }`: what that asks for first, besides standstill: `keep-out`, `people-back` (it bars the way "
     "too), `tell-shift`, `tell-others`, `lock-out`",
     "`keep-out`, `tell-shift`"},
    {"family", "letter of the family of drills that look the same", "needed"},
    {"look_alikes", "numbers of drills to tell it apart from", "none"},
    {"plant", "name of a file in `plants/`", "needed"},
    {"scenario", "laid over the plant, key by key: faults, demands, settings as typed at one end", "none",
     "`[scenario]`"},
    {"about", "how long it takes people, roughly; the list says so", R"(`"10 min"`)"},
    {"comes_after", "run time at which the trainee comes to it; until then it is a recorded past", "needed"},
    {"returns_after",
     "once somebody acknowledged with the cause still there, what had passed (one telegram, a second of delay) comes "
     "again "
     "so much later",
     "never"},
    {"clock", "hour of the run's begin", R"(`"14:31:30"`)"},
    {"on_since_controller on_since_device",
     R"(for how long the ends had been on when the run began: `"8 min"`, `"2 h"`, `"12 days"`, or `"0 s"` for an end that is switched on then)",
     R"(`"12 days"`)"},
    {"must_be_stopped", "it still runs: leaving it as it is is not enough", "`false`"},
    {"evidence", "readings that really tell it apart; each must be there to be read at that plant", "needed"},
    {"right", "`{ where, what }`: all that is accepted", "needed"},
    {"half", "`{ where, what }`: what is half right", "none"},
    {"half_why", "why that is only half right", "empty"},
    {"right.link",
     "of a plant with several links: the names of the links that are accepted; without the right one nothing else that "
     "was named counts",
     "needed of several", "`right.link`, `half.link`"},
    {"needed",
     "`{ action, or, why }`: what has to be done, in an order in which it may be done; `or`: actions that do as well",
     "needed"},
    {"helpful", "`{ action, why }`: further actions that help", "none"},
    {"no_help", "`{ action, why }`: actions that are safe but no help, where the card's own reason does not hold",
     "none"},
    {"danger", "`{ action, why }`: actions that are dangerous here", "none"},
    {"variant",
     "laid over the whole drill, key by key: what an exam may draw in place of it, another way or cause behind the "
     "same story",
     "none", "`[[variant]]`"},
    {"hint_where hint_compare hint_meaning", "hints in stages", "needed"},
    {"cause", "what was wrong", "needed"},
    {"debrief", "what it teaches", "needed"},
    {"expect", "what it promises to show when the trainee comes to it; the tests run it and read both ends", "needed",
     "`[expect]`"},
};

constexpr KeyRow expect_rows[] = {
    {"controller device",
     "`state`; `cause`: of the last stop; `rejected`: measures whose counters have moved, no other may have; "
     "`receives`: telegrams still come; `dark`: it has no supply",
     ""},
    {"first", "the end that stopped first", ""},
    {"request", "an acknowledgement is asked for", ""},
    {"moves", "the machine moves", ""},
    {"neighbour_runs", "so does the neighbour link", ""},
    {"signals_off", "signals that are 0 at their source", ""},
};

constexpr KeyRow drill_inside[] = {
    {"secure.conduct", "what people do first", "needed"},
    {"secure.why", "the reason that the debrief gives", "needed"},
    {"right.where", "places that are accepted", "none"},
    {"right.what", "causes that are accepted", "none"},
    {"needed.action danger.action", "the `id` of a card of `actions.toml`", "needed"},
    {"needed.why danger.why", "the reason that the debrief gives", "needed"},
    {"needed.or", "actions that do as well", "none"},
    {"expect.end.state", "its state", "not looked at"},
    {"expect.end.cause", "of its last stop, one or several that will do", "not looked at"},
    {"expect.end.rejected", "measures whose counters have moved; no other may have", "none"},
    {"expect.end.receives", "telegrams still come", "not looked at"},
    {"expect.end.dark", "it has no supply", "`false`"},
    {"expect.link", "of a plant with several links: a table for each", "needed there"},
    {"expect.link.*", "what the link of that name shows", "needed there"},
};

constexpr KeyTable tables[] = {{"drill", "", "key | meaning | default", drill_rows},
                               {"expect", "expect.", "key of `[expect]` | meaning", expect_rows},
                               {"", "", "", drill_inside}};

}  // namespace

std::span<const KeyTable> words_of_drills() { return tables; }

}  // namespace sim
