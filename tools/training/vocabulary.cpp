#include "tools/training/vocabulary.hpp"

#include "sim/training/exam.hpp"
#include "sim/training/score.hpp"
#include "sim/training/words.hpp"
#include "tools/training/choice_groups.hpp"
#include "tools/training/trainer.hpp"
#include "tools/training/vocabulary_records.hpp"
#include "tools/training/vocabulary_work.hpp"

namespace tools {
namespace {

// ---- words for what the simulation names ----

constexpr auto where = std::to_array<Word>({{"controller", "controller"},
                                            {"way-out", "way out: from the controller to the I/O"},
                                            {"way-back", "way back: from the I/O to the controller"},
                                            {"both-ways", "both ways"},
                                            {"io", "I/O"},
                                            {"guard", "guard or button"},
                                            {"settings", "settings"},
                                            {"nothing", "nothing wrong"}});

struct Explained {
    std::string_view id, text, meaning;
};
constexpr auto what = std::to_array<Explained>(
    {{"corruption", "corruption: bits changed", "Bits of a telegram are changed on the way."},
     {"repetition", "repetition: an old telegram again", "A telegram that came before comes once more."},
     {"incorrect-sequence", "incorrect sequence: overtaken", "Telegrams arrive in another order than they were sent."},
     {"loss", "loss: nothing arrives", "A telegram does not arrive."},
     {"delay", "delay: it comes too late", "A telegram arrives, but later than is allowed."},
     {"insertion", "insertion: somebody else's telegram besides",
      "A telegram arrives that an unexpected, but safe, source has sent."},
     {"masquerade", "masquerade: not from a safety device",
      "Something that is no safety device sends what looks like a safety telegram."},
     {"addressing", "addressing: links exchanged", "Telegrams of the right kind reach the wrong end."},
     {"restart", "restart of an end", "An end was without power, or started anew."},
     {"stall", "stall: an end stands still", "An end's program stood still for a moment."},
     {"frozen-data", "frozen data behind a living link", "An end sends new telegrams with old values in them."},
     {"clock-drift", "a clock that runs wrong", "An end's clock runs too fast or too slow."},
     {"settings-differ", "settings differ", "What was typed at the two ends does not agree."},
     {"nothing", "nothing wrong with the link", "The link does what it should."}});

constexpr auto conduct =
    std::to_array<Word>({{"keep-out", "Bar the way in, so that nobody comes near"},
                         {"people-back", "Have the people there step back out of reach, then bar the way in"},
                         {"leave-stopped", "Leave it stopped"},
                         {"emergency-stop", "Press its emergency stop"},
                         {"lock-out", "Isolate it, lock it, block what could fall, try to start"},
                         {"tell-shift", "Tell the shift"},
                         {"tell-others", "Tell those at the neighbour machine too"},
                         {"acknowledge-first", "Acknowledge and see"}});

constexpr auto readings = std::to_array<Word>({{"controller-panel", "what the controller says"},
                                               {"io-panel", "what the I/O says"},
                                               {"signals", "the signals"},
                                               {"received-counters", "received counters of both ends"},
                                               {"on-since", "since when the I/O is on"},
                                               {"longest-cycle", "longest own cycle of the controller"},
                                               {"round-trips", "round trips: last and longest"},
                                               {"ages", "ages of both directions"},
                                               {"time-line", "the time line"},
                                               {"telegrams", "the telegrams"},
                                               {"settings", "the comparison of settings"},
                                               {"neighbour", "the neighbour's panel"}});
constexpr Word test_demand{sim::test_demand_reading, "signals after a test demand"};

constexpr auto states = std::to_array<Word>({{"start-up", "STARTING"},
                                             {"running", "RUNNING"},
                                             {"safe-state", "STOPPED"},
                                             {"awaiting-acknowledgement", "WAITS FOR YOU"}});

constexpr auto causes = std::to_array<Word>({{"power-up", "switched on"},
                                             {"first-value", "exchange under way"},
                                             {"time-expectation", "no good telegram in time"},
                                             {"rejected-telegram", "a telegram was rejected"},
                                             {"told-by-peer", "the other end says that it stopped"},
                                             {"peer-restarted", "the other end started anew"},
                                             {"error-free-again", "free of errors again"},
                                             {"errors-again", "errors again"},
                                             {"acknowledged", "acknowledged"},
                                             {"start-failed", "no value after the start"}});

std::string_view text_of(proto::Measure measure) {
    using proto::Measure;
    switch (measure) {
        case Measure::cross_check: return "the two copies differ";
        case Measure::integrity: return "CRC does not fit";
        case Measure::authentication: return "wrong address";
        case Measure::sequence: return "number does not fit";
        case Measure::feedback: return "answer to an older question";
        case Measure::time_stamp: return "telegram too old or too early";
        case Measure::time_expectation: return "no good telegram in time";
        case Measure::different_integrity: return "not from a safety device";
    }
    return "?";
}

std::string_view text_of(sim::DrillResult result) {
    using sim::DrillResult;
    switch (result) {
        case DrillResult::safe_and_found: return "Safe and found";
        case DrillResult::safe_not_found: return "Safe, not found";
        case DrillResult::dangerous_action: return "Not passed: dangerous action";
        case DrillResult::not_secured: return "Not passed: securing was not complete";
        case DrillResult::nothing_read: return "Not passed: no reading that tells";
        case DrillResult::not_finished: return "Not finished";
    }
    return "?";
}
constexpr std::array results{sim::DrillResult::safe_and_found,   sim::DrillResult::safe_not_found,
                             sim::DrillResult::dangerous_action, sim::DrillResult::not_secured,
                             sim::DrillResult::nothing_read,     sim::DrillResult::not_finished};

/// The same identifiers in the same order: what is added to one list must be added to the other.
template <class Words, class Ids>
constexpr bool names_all(const Words& words, const Ids& ids) {
    return std::equal(words.begin(), words.end(), ids.begin(), ids.end(),
                      [](const auto& word, std::string_view id) { return word.id == id; });
}
static_assert(names_all(where, sim::where_words));
static_assert(names_all(what, sim::what_words));
static_assert(names_all(conduct, sim::conduct_words));
static_assert(names_all(conduct_groups, sim::conduct_words));
static_assert(names_all(readings, sim::reading_words));
static_assert(names_all(states, sim::state_ids));
static_assert(names_all(causes, sim::cause_ids));
static_assert(names_all(place_words, sim::work_place_words));
static_assert(names_all(effect_words, sim::work_effect_words));
static_assert(names_all(consequence_words, sim::consequence_kind_words));
static_assert(names_all(consequence_step_words, sim::consequence_step_words));
static_assert(Trainer::places == 30, "the word for a room that is full says so");
static_assert(Trainer::places_of_address == 3 && fault_lasting_max_ms == 600'000 && fault_after_max_s == 60,
              "so say the words of what is refused");

// ---- as values ----

template <class Words>
Value::Object listed(const Words& words) {
    Value::Object object;
    for (const auto& word : words) object.push_back({std::string(word.id), word.text});
    return object;
}

Value meanings() {
    Value::Object object;
    for (const Explained& one : what) object.push_back({std::string(one.id), one.meaning});
    return object;
}

Value readings_words() {
    Value::Object object = listed(readings);
    object.push_back({std::string(test_demand.id), test_demand.text});
    return object;
}

/// Causes and measures in one list: a cause that is a rejected telegram is told by its measure.
Value causes_words() {
    Value::Object object = listed(causes);
    for (unsigned i = 0; i < proto::measure_count; ++i) {
        const auto measure = static_cast<proto::Measure>(i);
        const std::string id(proto::name_of(measure));
        if (std::none_of(object.begin(), object.end(), [&](const Value::Member& one) { return one.key == id; }))
            object.push_back({id, text_of(measure)});
    }
    return object;
}

/// What differs, where a start is refused: by the program's own name of it.
std::string_view text_of(proto::Refusal refusal) {
    using proto::Refusal;
    switch (refusal) {
        case Refusal::none: return "nothing";
        case Refusal::profile: return "the telegram profile";
        case Refusal::controller_address: return "the address of the controller";
        case Refusal::device_address: return "the address of the I/O";
        case Refusal::exchange: return "the way of exchange";
        case Refusal::payload_to_device: return "the payload length to the I/O";
        case Refusal::payload_to_controller: return "the payload length to the controller";
        case Refusal::bits_to_device: return "the bits used to the I/O";
        case Refusal::bits_to_controller: return "the bits used to the controller";
        case Refusal::byte_order: return "the order of bytes";
        case Refusal::cycle: return "the cycle";
        case Refusal::watchdog_controller: return "the watchdog of the controller";
        case Refusal::watchdog_device: return "the watchdog of the I/O";
        case Refusal::missing_allowed: return "the number of missing telegrams allowed";
        case Refusal::claimed_level: return "the claimed integrity level";
    }
    return "?";
}

Value start_refusals_words() {
    Value::Object object;
    for (unsigned i = 1; i < proto::refusal_count; ++i) {
        const auto refusal = static_cast<proto::Refusal>(i);
        object.push_back({std::string(proto::name_of(refusal)), text_of(refusal)});
    }
    return object;
}

Value results_words() {
    Value::Object object;
    for (const sim::DrillResult result : results)
        object.push_back({std::string(sim::name_of(result)), text_of(result)});
    object.push_back(
        {"drill-broken", "This drill did not show what it should. It is not scored. The trainer sees why."});
    for (const Word& word : unjudged_words) object.push_back({std::string(word.id), word.text});
    return object;
}

Value words() {
    return Value::Object{{"where", listed(where)},
                         {"what", listed(what)},
                         {"meanings", meanings()},
                         {"conduct", listed(conduct)},
                         {"groups", listed(group_words)},
                         {"instruments", listed(instruments)},
                         {"readings", readings_words()},
                         {"acts", listed(act_words)},
                         {"log", listed(log_words)},
                         {"dangers", listed(danger_words)},
                         {"states", listed(states)},
                         {"causes", causes_words()},
                         {"events", listed(event_words)},
                         {"demands", listed(demand_words)},
                         {"demanded", listed(demanded_words)},
                         {"strip_of", listed(strip_of_words)},
                         {"start_refusals", start_refusals_words()},
                         {"not_started", listed(not_started_words)},
                         {"exam", listed(exam_words)},
                         {"verdicts", listed(verdict_words)},
                         {"settings", listed(setting_words)},
                         {"covered", listed(covered_words)},
                         {"results", results_words()},
                         {"parts", listed(part_words)},
                         {"remarks", listed(remark_words)},
                         {"whole_remarks", listed(whole_remark_words)},
                         {"refusals", listed(refusal_words)},
                         {"exam_states", listed(exam_state_words)},
                         {"places", listed(place_words)},
                         {"outcome_steps", listed(consequence_step_words)}};
}

/// What the program itself puts into sentences that are kept.
Value kept_words() {
    return Value::Object{{"hand", listed(hand_words)},
                         {"hand_times", listed(hand_time_words)},
                         {"exam_ends", listed(exam_end_words)},
                         {"effects", listed(effect_words)},
                         {"effects_untold", listed(effect_untold_words)},
                         {"outcomes", listed(consequence_words)}};
}

Value faults() {
    Value::Object object;
    for (const sim::FaultWay way : fault_ways) object.push_back({std::string(sim::name_of(way)), what_of(way)});
    return object;
}

template <class Grouped>
Value groups_of(const Grouped& all) {
    Value::Object object;
    for (const auto& one : all) object.push_back({std::string(one.id), one.group.id()});
    return object;
}

}  // namespace

std::string_view what_of(sim::FaultWay way) {
    const sim::ErrorKind error = sim::error_of(way);
    return error == sim::ErrorKind::none ? sim::name_of(way) : sim::name_of(error);
}

std::string word_of(std::string_view list, const std::string& id) {
    static const Value all = words(), kept = kept_words();
    const Value* const sent = all.find(list);
    const Value* const found = sent != nullptr ? sent : kept.find(list);
    const Value* const word = found != nullptr ? found->find(id) : nullptr;
    return word != nullptr ? std::string(word->text()) : id;
}

std::string filled(std::string_view words, const std::vector<std::string>& values) {
    std::string text(words);
    for (std::size_t i = 0; i < values.size(); ++i)
        if (const std::size_t at = text.find("{" + std::to_string(i) + "}"); at != std::string::npos)
            text.replace(at, 3, values[i]);
    return text;
}

Value vocabulary() {
    Value::List places;
    for (const std::string_view place : fault_places) places.emplace_back(place);
    return Value::Object{{"words", words()},
                         {"faults", faults()},
                         {"fault_places", std::move(places)},
                         {"conduct_groups", groups_of(conduct_groups)},
                         {"card_groups", groups_of(card_groups)},
                         {"limits", Value::Object{{"actions", sim::actions_max},
                                                  {"kept", sim::kept_max},
                                                  {"exam_drills", sim::exam_drills},
                                                  {"hints", std::tuple_size_v<decltype(sim::Drill::hints)>},
                                                  {"name_bytes", Trainer::name_bytes_max},
                                                  {"fault_lasting_ms", fault_lasting_max_ms},
                                                  {"fault_after_s", fault_after_max_s}}}};
}

}  // namespace tools
