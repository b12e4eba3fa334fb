#pragma once
// A drill as written down: a plant with something wrong in it, what can be seen, what is right to think and to do, and
// what it teaches. Read by sim/reading/read_drill.cpp.
#include <algorithm>
#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sim/scenario/whole_cell.hpp"
#include "sim/training/work.hpp"

namespace sim {

/// An action card. The same cards lie before the trainee in every drill.
struct ActionCard {
    enum class Kind : std::uint8_t {
        helps,          ///< where the drill asks for it; elsewhere safe, but no help
        good_practice,  ///< right everywhere, asked for or not
        no_help,        ///< safe, but no help anywhere
        dangerous,      ///< everywhere
    };
    std::string id;
    std::string words;
    Kind kind = Kind::helps;
    std::string why;     ///< why it is of that kind; of one that helps: why it is no help where it is not asked for
    bool hands = false;  ///< hands go into the machine for it, so that it is locked out before
    Does does = Does::talk;
    WorkPlace place = WorkPlace::outside;
    Duration takes{};  ///< plant time
};

/// A choice with the reason for what it counts.
struct Reasoned {
    std::string id;
    std::string why;
};

/// An action that has to be done, or one of the others in its place.
struct Needed {
    std::string id;
    std::string why;
    std::vector<std::string> others = {};
};

/// Of that identifier, or nullptr.
template <class List>
const typename List::value_type* find_by_id(const List& list, std::string_view id) {
    const auto found = std::find_if(list.begin(), list.end(), [&](const auto& one) { return one.id == id; });
    return found == list.end() ? nullptr : &*found;
}

/// What is where. Lists hold all that is accepted.
struct Finding {
    std::vector<std::string> where, what;
    std::vector<std::string> link = {};  ///< names; empty: the drill has one link, or any will do
};

/// What the drill promises that an end shows when the trainee comes to it.
struct ExpectedEnd {
    std::optional<proto::State> state;
    std::vector<std::string> causes;    ///< accepted names of proto::Cause; empty: any
    std::vector<std::string> rejected;  ///< measures whose counters have moved; all others must not have
    std::optional<bool> receives;       ///< telegrams still come
    bool dark = false;                  ///< it has no supply
};

struct ExpectedShow {
    std::array<ExpectedEnd, 2> ends;  ///< by End
    std::optional<End> first;         ///< the end that stopped first
    bool request = false;             ///< an acknowledgement is asked for
    bool moves = false;               ///< the machine
    std::optional<bool> neighbour_runs;
    std::vector<std::string> signals_off;  ///< signals of the application that their sender has at 0
    /// Lines of the drill's file by key below `[expect]`: "controller.state"; "" is the table itself.
    std::map<std::string, int> lines = {};
    /// Of a drill with several links what each of them shows, in the order of the cell; of the rest only `moves` and
    /// `signals_off` then mean anything.
    std::vector<ExpectedShow> links = {};
    [[nodiscard]] bool asks_for_acknowledgement() const {
        return request || std::any_of(links.begin(), links.end(), [](const ExpectedShow& one) { return one.request; });
    }
    [[nodiscard]] bool controller_stopped() const {
        using State = proto::State;
        const std::optional<State> state = ends[0].state;
        return state == State::safe_state || state == State::awaiting_acknowledgement ||
               std::any_of(links.begin(), links.end(),
                           [](const ExpectedShow& one) { return one.controller_stopped(); });
    }
};

/// The hour of a run's begin where a drill does not say another.
inline constexpr std::string_view clock_by_default = "14:31:30";

struct Drill {
    std::string file;
    unsigned number = 0;  ///< 1..
    std::string title, story, plant;
    Duration about{};    ///< how long it takes people, roughly
    std::string people;  ///< who stands where
    /// What that asks for before anything else, besides standstill; conduct_words.
    std::vector<Reasoned> secure;
    char family = 'A';  ///< of look-alikes
    std::vector<unsigned> look_alikes;
    Scenario scenario;    ///< the plant with what is wrong in it; of several links the one in question
    Scenario link_sheet;  ///< the plant as it should be: the settings to compare with
    /// Of a plant with several links: all of them, as they are and as they should be.
    std::optional<WholeCell> cell, cell_sheet;
    std::size_t in_question = 0;  ///< the link that people come for: the first with a machine
    /// Once the link was acknowledged with the cause still there, what had passed comes again after that time.
    std::optional<Duration> returns_after = {};
    Duration comes_after{};             ///< run time at which the trainee comes to it
    bool must_be_stopped = false;       ///< it still runs: leaving it as it is does not do
    std::array<Duration, 2> on_for{};   ///< so long the ends were on when the run began, by End
    std::string clock;                  ///< hour of the run's begin: "01:58:00"
    std::vector<std::string> evidence;  ///< readings that tell it apart
    Finding right;
    std::vector<Finding> half;  ///< half right
    std::string half_why;
    std::vector<Needed> needed;        ///< actions, in an order in which they may be done
    std::vector<Reasoned> helpful;     ///< accepted besides
    std::vector<Reasoned> no_help;     ///< safe, but no help, where the card's own reason does not hold
    std::vector<Reasoned> dangers;     ///< dangerous in this drill
    std::array<std::string, 3> hints;  ///< where to look, what to compare, what it means
    std::string cause;                 ///< the hidden fault in one sentence, told at the end
    std::string debrief;
    ExpectedShow expect;
    /// The same story with something else behind it, of which an exam draws one; without variants of their own.
    std::vector<Drill> variants;
};

/// Run time from which on things are on record. What was switched on before the run is met while it runs; an end that
/// is switched on as the run begins shows that.
constexpr Duration record_begins(const Drill& drill) {
    const bool switched_on = drill.on_for[0] == Duration{} || drill.on_for[1] == Duration{};
    return switched_on ? Duration{} : proto::seconds(2);
}

struct DrillSet {
    std::vector<ActionCard> cards;
    std::vector<Drill> drills;  ///< by number
    [[nodiscard]] const Drill* find(unsigned number) const {
        for (const Drill& drill : drills)
            if (drill.number == number) return &drill;
        return nullptr;
    }
};

// The words of the answers, as files and pages use them.
inline constexpr std::array<std::string_view, 8> where_words{"controller", "way-out", "way-back", "both-ways",
                                                             "io",         "guard",   "settings", "nothing"};
inline constexpr std::array<std::string_view, 14> what_words{
    "corruption",  "repetition",  "incorrect-sequence", "loss",    "delay",
    "insertion",   "masquerade",  "addressing",         "restart", "stall",
    "frozen-data", "clock-drift", "settings-differ",    "nothing"};
/// What can be read and kept, each with an instrument of its own.
inline constexpr std::array<std::string_view, 12> reading_words{
    "controller-panel", "io-panel", "signals",   "received-counters", "on-since", "longest-cycle",
    "round-trips",      "ages",     "time-line", "telegrams",         "settings", "neighbour"};
/// Besides: the signals after a demand by test rod.
inline constexpr std::string_view test_demand_reading = "test-demand";
inline constexpr std::array<std::string_view, 8> conduct_words{"keep-out",       "people-back",      "leave-stopped",
                                                               "emergency-stop", "lock-out",         "tell-shift",
                                                               "tell-others",    "acknowledge-first"};

}  // namespace sim
