// The instructor's hand at an exercise: what it does to the bench, and that nothing of it is forgotten.
#include <algorithm>

#include "sim/scenario/scenario.hpp"
#include "tools/training/exercise_readings.hpp"
#include "tools/training/vocabulary_records.hpp"

namespace tools {
namespace {

constexpr unsigned lasting_usual_ms = 1000;

/// The number in that field, `usual` where there is no such field; nothing if it is none within the limits.
std::optional<unsigned> number_within(const ActFields& fields, const std::string& key, unsigned usual, unsigned least,
                                      unsigned most) {
    if (!fields.contains(key)) return usual;
    const auto number = number_of(fields, key);
    return number && *number >= least && *number <= most ? number : std::nullopt;
}

/// A fault as an instructor chooses it: the error and the place, and how long; the rest is what shows plainly.
std::optional<sim::Fault> fault_of(const ActFields& fields, unsigned lasting_ms) {
    using Way = sim::FaultWay;
    const std::string way = field_of(fields, "way"), where = field_of(fields, "where");
    const auto* const found =
        std::find_if(fault_ways.begin(), fault_ways.end(), [&](Way one) { return sim::name_of(one) == way; });
    if (found == fault_ways.end()) return std::nullopt;
    sim::Fault fault;
    fault.way = *found;
    fault.error = sim::error_of(fault.way);
    fault.lasting = proto::milliseconds(lasting_ms);
    fault.count = 3;
    fault.hold = proto::milliseconds(70);
    fault.extra = proto::milliseconds(60);
    fault.drift_ppm = 200'000;
    if (fault.error == sim::ErrorKind::none) {
        fault.at_end = where == "controller" ? sim::End::controller : sim::End::device;
        if (fault.way == Way::frozen_data || fault.way == Way::clock_drift) fault.lasting.reset();
        return fault;
    }
    fault.to_device = where != "way-back";
    fault.to_controller = where != "way-out";
    if (fault.way == Way::hold) {
        fault.lasting.reset();
        fault.times = 1;
    }
    return fault;
}

std::string place_of(const sim::Fault& fault) {
    if (fault.error == sim::ErrorKind::none) return fault.at_end == sim::End::controller ? "controller" : "io";
    if (fault.to_device && fault.to_controller) return "both-ways";
    return fault.to_device ? "way-out" : "way-back";
}

std::string time_words(HandTimeId id, unsigned number = 0) {
    return filled(word_of("hand_times", std::string(id.id())), {std::to_string(number)});
}

std::string lasting_words(const sim::Fault& fault, unsigned lasting_ms) {
    if (fault.lasting) return time_words("for-ms", lasting_ms);
    return fault.times ? time_words("one-telegram") : time_words("until-taken-out");
}

}  // namespace

std::optional<Exercise::Refusal> Exercise::instruct(const ActFields& fields) {
    const std::size_t before = by_hand_.touches.size();
    const std::optional<Refusal> refusal = do_by_hand(fields);
    for (std::size_t i = before; i < by_hand_.touches.size(); ++i) by_hand_.touches[i].wall = field_of(fields, "wall");
    return refusal;
}

Exercise::Done Exercise::do_by_hand(const ActFields& fields) {
    const std::string act = field_of(fields, "act");
    // what was handed in is judged as it was then
    if (over()) return Refusal{409, RefusalId("drill-over").id()};
    if (act == "cause") return show_cause(field_of(fields, "show") == "true");
    if (act == "put-in") return put_in(fields);
    if (act == "take-out") {
        bench_->take_out_faults();
        note("taken-out", "", true);
        touch(HandId("take-out").id(), word_of("hand", "take-out"));
        return std::nullopt;
    }
    if (act == "pace") {
        const std::string pace = field_of(fields, "pace");
        if (pace != "paused" && pace != "quarter" && pace != "real") return Refusal{400, "no such pace"};
        touch(pace, word_of("hand", pace));
        return std::nullopt;
    }
    return Refusal{404, "no such act"};
}

Exercise::Done Exercise::show_cause(bool show) {
    by_hand_.cause_shown = show;
    note(show ? LogId("cause-shown") : LogId("cause-hidden"), "", !show);
    const std::string_view what = show ? HandId("cause-shown").id() : HandId("cause-hidden").id();
    touch(what, word_of("hand", std::string(what)));
    return std::nullopt;
}

Exercise::Done Exercise::put_in(const ActFields& fields) {
    const auto lasting_ms = number_within(fields, "lasting_ms", lasting_usual_ms, 1, fault_lasting_max_ms);
    if (!lasting_ms) return Refusal{400, RefusalId("lasting-wrong").id()};
    const auto after_s = number_within(fields, "after_s", 0, 0, fault_after_max_s);
    if (!after_s) return Refusal{400, RefusalId("after-wrong").id()};
    const std::optional<sim::Fault> fault = fault_of(fields, *lasting_ms);
    if (!fault) return Refusal{400, "no such fault"};
    const bool free = field_of(fields, "free") == "true";
    if (free && mode_ == ExerciseMode::exam) return Refusal{409, RefusalId("free-in-exam").id()};
    const bool at_demand = field_of(fields, "when") == "demand";
    const bool taken =
        at_demand ? bench_->put_in_at_next_demand(*fault) : bench_->put_in(*fault, proto::seconds(*after_s));
    if (!taken) return Refusal{409, "no neighbour here, or too many faults"};
    note("put-in", field_of(fields, "way"), true);
    if (free && !by_hand_.free) declare_free();
    const std::string when = at_demand       ? time_words("demand")
                             : *after_s == 0 ? time_words("now")
                                             : time_words("seconds", *after_s);
    touch(HandId("put-in").id(), filled(word_of("hand", "put-in"), {word_of("what", std::string(what_of(fault->way))),
                                                                    word_of("where", place_of(*fault)),
                                                                    lasting_words(*fault, *lasting_ms), when}));
    return std::nullopt;
}

void Exercise::touch(std::string_view what, std::string words) {
    by_hand_.touches.push_back({bench_->now(), std::string(what), std::move(words)});
}

/// What is right to do about the drill's own cause is neither right nor wrong about another one.
void Exercise::declare_free() {
    by_hand_.free = true;
    free_drill_ = std::make_unique<sim::Drill>(drill_);
    free_drill_->needed.clear();
    free_drill_->helpful.clear();
    free_drill_->no_help.clear();
    free_drill_->dangers.clear();
    touch(HandId("free").id(), word_of("hand", "free"));
}

std::vector<NamedFault> Exercise::faults_by_hand() const {
    std::vector<NamedFault> all;
    for (const sim::BenchEvent& event : bench_->events()) {
        if (event.kind != sim::BenchEvent::Kind::fault || event.detail < own_faults_) continue;
        const sim::Fault& fault = bench_->scenario().faults[event.detail];
        all.push_back({bench_->link_name(), place_of(fault), std::string(what_of(fault.way))});
    }
    return all;
}

std::string Exercise::result() const {
    const std::string_view why_not = why_not_judged(*this);
    return std::string(why_not.empty() ? sim::name_of(score_->result) : why_not);
}

namespace {

/// What of an answer fits any of the trainer's faults that it could be about.
std::string_view free_result(const Exercise& exercise) {
    const sim::Answers& answers = exercise.answers();
    if (exercise.score() && !exercise.score()->dangerous.empty()) return UnjudgedId("free-dangerous").id();
    if (answers.cannot_tell || answers.what.empty()) return UnjudgedId("free-not-told").id();
    bool half = false;
    for (const NamedFault& one : exercise.by_hand().answerable) {
        if (one.link != answers.link) continue;  // what is said of another link is right nowhere
        const bool where = one.where == answers.where, what = one.what == answers.what;
        if (where && what) return UnjudgedId("free-found").id();
        half = half || where || what;
    }
    const sim::Finding& own = exercise.drill().right;
    const auto has = [](const std::vector<std::string>& list, const std::string& id) {
        return std::find(list.begin(), list.end(), id) != list.end();
    };
    const bool link = own.link.empty() || has(own.link, answers.link);
    if (link && has(own.where, answers.where) && has(own.what, answers.what)) return UnjudgedId("free-own-cause").id();
    return half ? UnjudgedId("free-half-found").id() : UnjudgedId("free-not-found").id();
}

}  // namespace

std::string_view why_not_judged(const Exercise& exercise) {
    if (!exercise.broken().empty()) return "drill-broken";
    const auto done = [&](HandId what) {
        return std::any_of(exercise.by_hand().touches.begin(), exercise.by_hand().touches.end(),
                           [&](const Touch& one) { return one.what == what.id(); });
    };
    if (exercise.by_hand().free && !exercise.by_hand().answerable.empty()) return free_result(exercise);
    if (done("put-in") || done("take-out")) return UnjudgedId("trainers-fault").id();
    if (exercise.mode() == ExerciseMode::exam && done("cause-shown")) return UnjudgedId("cause-shown").id();
    return {};
}

Value free_state(const Exercise& exercise) {
    if (!exercise.by_hand().free || !exercise.score()) return {};
    Value::List faults;
    for (const NamedFault& one : exercise.by_hand().answerable)
        faults.push_back(
            Value::Object{{"link", Value::text_or_null(one.link)}, {"where", one.where}, {"what", one.what}});
    return Value::Object{{"faults", std::move(faults)},
                         {"secured", exercise.score()->secure == sim::secure_points_all}};
}

std::string hour_of(const Exercise& exercise, proto::Instant at) {
    int part = 0;
    std::int64_t seconds = 0;
    for (const char c : exercise.drill().clock) {
        if (c == ':') {
            seconds = (seconds + part) * 60;
            part = 0;
        } else if (c >= '0' && c <= '9') {
            part = part * 10 + (c - '0');
        }
    }
    seconds += part + at.ns / proto::seconds(1).ns;
    const auto two = [](std::int64_t number) { return (number < 10 ? "0" : "") + std::to_string(number); };
    return two(seconds / 3600 % 24) + ":" + two(seconds / 60 % 60) + ":" + two(seconds % 60);
}

std::string touches_in_words(const Exercise& exercise) {
    std::string text;
    for (const Touch& one : exercise.by_hand().touches)
        text += (text.empty() ? "" : " | ") + hour_of(exercise, one.at) + " " + one.words +
                (one.wall.empty() ? "" : " (" + one.wall + ")");
    return text;
}

Value touches_state(const Exercise& exercise) {
    Value::List all;
    for (const Touch& one : exercise.by_hand().touches)
        all.push_back(Value::Object{{"at", plant_seconds(one.at)},
                                    {"what", one.what},
                                    {"words", one.words + (one.wall.empty() ? "" : " (" + one.wall + ")")}});
    return all;
}

}  // namespace tools
