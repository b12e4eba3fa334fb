// What a debrief tells, and what a record keeps.
#include <algorithm>

#include "sim/scenario/scenario.hpp"
#include "sim/training/afterwards.hpp"
#include "sim/training/measured_here.hpp"
#include "sim/training/words.hpp"
#include "tools/training/exercise_readings.hpp"

namespace tools {
namespace {

using proto::Instant;
using sim::End;

constexpr proto::Duration told_before = proto::seconds(1), told_after = proto::seconds(60);
constexpr std::size_t story_lines = 60;

/// Actions by their words.
Value in_words(const Exercise& exercise, const std::vector<std::string>& ids) {
    Value::List words;
    for (const std::string& id : ids) words.emplace_back(exercise.words_of(id));
    return words;
}

Value reasons(const Exercise& exercise, const std::vector<sim::Reasoned>& list) {
    Value::List all;
    for (const sim::Reasoned& one : list)
        all.push_back(Value::Object{{"id", one.id}, {"words", exercise.words_of(one.id)}, {"why", one.why}});
    return all;
}

Value needed_state(const Exercise& exercise) {
    Value::List all;
    for (const sim::Needed& one : exercise.drill().needed) {
        std::string words = exercise.words_of(one.id);
        for (const std::string& other : one.others) words += " / " + exercise.words_of(other);
        all.push_back(Value::Object{{"id", one.id}, {"words", words}, {"why", one.why}});
    }
    return all;
}

Value remarks_of(const sim::Score& score) {
    Value::List remarks;
    for (const sim::Remark& remark : score.remarks)
        remarks.push_back(Value::Object{{"part", part_words[static_cast<std::size_t>(remark.part)].id},
                                        {"about", remark.about},
                                        {"says", remark_words[static_cast<std::size_t>(remark.says)].id},
                                        {"why", remark.why}});
    return remarks;
}

/// Each end has a name; the controller of several links is named with the link that is meant.
std::string name_at(const sim::Bench& link, End end) {
    const std::string& name = link.scenario().end(end).name;
    return end == End::device || link.link_name().empty() ? name : name + ", " + link.link_name();
}

Value reasoning_state(const sim::Bench& link, End end) {
    const sim::Reasoning r = sim::reasoning_of(link, end);
    const sim::Panel panel = link.panel(end);
    return Value::Object{
        {"name", name_at(link, end)},
        {"stopped", r.stopped ? plant_seconds(*r.stopped) : Value()},
        {"cause", r.cause ? Value(sim::id_of(*r.cause)) : Value()},
        {"measure", r.measure ? Value(proto::name_of(*r.measure)) : Value()},
        {"state", sim::id_of(panel.state)},
        {"refusal",
         r.stopped || panel.refusal == proto::Refusal::none ? Value() : Value(proto::name_of(panel.refusal))},
        {"accepted", panel.counters.accepted},
        {"window_ms", r.window},
        {"fresh", r.fresh},
        {"repeats", r.repeats},
        {"rejected", r.rejected},
        {"ignored", r.ignored},
        {"first_number", Value::of(r.first_number)},
        {"last_number", Value::of(r.last_number)},
        {"last_good_ms", Value::of(r.last_good)}};
}

/// A meaning as the pages say it: names in words, and the other end is the I/O.
std::string as_at_the_plant(const std::string& meaning) {
    std::string text = spoken(meaning);
    constexpr std::string_view device = "the device";
    for (std::size_t at = text.find(device); at != std::string::npos; at = text.find(device, at))
        text.replace(at, device.size(), "the I/O");
    return text;
}

Value examined_state(const Exercise& exercise) {
    const sim::Bench* of = nullptr;
    std::optional<sim::Examined> examined;
    for (const sim::Bench* const link : benches_of(exercise)) {
        std::optional<sim::Examined> found = sim::first_rejected(*link);
        if (!found || (examined && examined->telegram.at <= found->telegram.at)) continue;
        examined = std::move(found);
        of = link;
    }
    if (!examined) return {};
    Value::List fields;
    for (std::size_t i = 0; i < examined->fields.size(); ++i) {
        const sim::ExplainedField& field = examined->fields[i];
        fields.push_back(
            Value::Object{{"field", field.name},
                          {"bytes", field.bytes},
                          {"sent", examined->sent[i] == field.bytes ? Value() : Value::text_or_null(examined->sent[i])},
                          {"meaning", as_at_the_plant(field.meaning)},
                          {"covered", covered_words[static_cast<std::size_t>(field.covered)].id},
                          {"expected", Value::text_or_null(field.expected)},
                          {"found", Value::text_or_null(field.found)},
                          {"differs", field.differs()}});
    }
    Value::List measures;
    for (unsigned i = 0; i < proto::measure_count; ++i)
        if (examined->telegram.verdict->failed.has(static_cast<proto::Measure>(i)))
            measures.emplace_back(proto::name_of(static_cast<proto::Measure>(i)));
    return Value::Object{{"telegram", telegram_reading(exercise, *of, examined->telegram)},
                         {"accepted_before", Value::of(examined->accepted_before)},
                         {"failed", std::move(measures)},
                         {"fields", std::move(fields)}};
}

/// What happened, the cause with it: from just before to a while after each moment that counts, which are when the
/// cause first acted, the first stop, and when guards were demanded. The first of them, where there are very many.
Value::List story_of(const Exercise& exercise) {
    using Kind = sim::BenchEvent::Kind;
    const sim::Bench& bench = exercise.bench();
    std::vector<Instant> moments;
    bool cause = false;
    for (const sim::Bench* const link : benches_of(exercise)) {
        for (const sim::BenchEvent& event : link->events()) {
            if (event.kind == Kind::demanded || event.kind == Kind::emergency_stop || (event.secret() && !cause))
                moments.push_back(event.at);
            cause = cause || event.secret();
        }
        for (const End end : {End::controller, End::device})
            if (link->first_stop(end)) moments.push_back(*link->first_stop(end));
    }
    if (moments.empty()) return events_between(exercise, Instant{}, bench.now(), true);
    std::sort(moments.begin(), moments.end());
    Value::List story;
    Instant told_until{-1};
    for (const Instant moment : moments) {
        const Instant from = std::max(moment - told_before, told_until + proto::Duration{1});
        told_until = std::max(told_until, moment + told_after);
        for (Value& event : events_between(exercise, from, told_until, true)) story.push_back(std::move(event));
    }
    if (story.size() > story_lines) story.resize(story_lines);
    return story;
}

/// The link of which an end stopped first; the one in question if none did.
const sim::Bench& stopped_first(const Exercise& exercise) {
    const sim::Bench* first = &exercise.bench();
    Instant at = proto::never;
    for (const sim::Bench* const link : benches_of(exercise))
        for (const End end : {End::controller, End::device})
            if (const auto stop = link->first_stop(end); stop && *stop < at) {
                at = *stop;
                first = link;
            }
    return *first;
}

/// The samples that show most, and around what they were taken.
Value strip_told(const sim::Bench& bench) {
    const bool stopped = !bench.record().around_stop.samples().empty(),
               demanded = !bench.record().around_demands.samples().empty();
    const std::vector<sim::StripSample>& samples = stopped    ? bench.record().around_stop.samples()
                                                   : demanded ? bench.record().around_demands.samples()
                                                              : bench.record().at_begin.samples();
    const StripOfId of = stopped ? StripOfId("stop") : demanded ? StripOfId("demand") : StripOfId("begin");
    Value::Object told{{"of", of.id()}, {"samples", strip_of(samples)}};
    if (!bench.link_name().empty()) told.push_back({"link", bench.link_name()});
    return told;
}

/// How old what came was, over the whole record: of links that stream, where it grew by more than a cycle. There ages
/// may grow while nothing else does.
Value ages_told(const sim::Bench& bench) {
    const proto::LinkSettings& link = bench.scenario().controller.link;
    if (link.exchange != proto::Exchange::streaming) return {};
    bool grew = false;
    const auto of = [&](End end) {
        const sim::Measured& age = bench.recorder().age(end);
        grew = grew || (age.longest && *age.longest - *age.shortest > link.cycle);
        Value::List points;
        for (const sim::Trail::Point& point : bench.recorder().ages(end).points())
            points.push_back(Value::List{plant_seconds(point.at), static_cast<double>(point.value.ns / 100'000) / 10});
        return points;
    };
    Value::Object ages{{"measured", sim::ages_are_measured(bench.scenario())},
                       {"controller", of(End::controller)},
                       {"io", of(End::device)}};
    return grew ? Value(std::move(ages)) : Value();
}

Value ran_on_told(const sim::Bench& bench) {
    const std::optional<sim::RanOn> ran_on = bench.ran_on();
    if (!ran_on) return {};
    return Value::Object{{"to_command_ms", ran_on->to_command},
                         {"to_standstill_ms", ran_on->to_standstill},
                         {"at_most_ms", Value::of(bench.stopping_time())}};
}

}  // namespace

Value debrief_state(const Exercise& exercise) {
    if (!exercise.score()) return {};
    const sim::Score& score = *exercise.score();
    const sim::Drill& drill = exercise.drill();
    Value::List alike;
    for (const unsigned number : drill.look_alikes) alike.emplace_back(number);
    Value::List ends;
    for (const sim::Bench* const link : benches_of(exercise))
        for (const End end : {End::controller, End::device}) ends.push_back(reasoning_state(*link, end));
    Value::Object state{{"result", exercise.result()},
                        {"points", is_judged(exercise) && score.dangerous.empty() ? Value(score.points()) : Value()},
                        {"judged", is_judged(exercise)},
                        {"trainer", touches_state(exercise)},
                        {"secure", score.secure},
                        {"evidence", score.evidence},
                        {"diagnosis", score.diagnosis},
                        {"action", score.action},
                        {"dangerous", reasons(exercise, score.dangerous)},
                        {"corrected", reasons(exercise, score.corrected)},
                        {"remarks", is_judged(exercise) ? remarks_of(score) : Value(Value::List{})},
                        {"cause", drill.cause},
                        {"debrief", drill.debrief},
                        {"outcomes", outcomes_state(exercise)},
                        {"right_where", Value::list_of(drill.right.where)},
                        {"right_what", Value::list_of(drill.right.what)},
                        {"needed", needed_state(exercise)},
                        {"look_alikes", std::move(alike)},
                        {"ran_on", ran_on_told(exercise.bench())},
                        {"story", story_of(exercise)},
                        {"strip", strip_told(stopped_first(exercise))},
                        {"ways", ways_told(stopped_first(exercise))},
                        {"ages", ages_told(exercise.bench())},
                        {"telegram", examined_state(exercise)},
                        {"ends", std::move(ends)}};
    if (exercise.by_hand().free) state.push_back({"free", free_state(exercise)});
    if (drill.cell) state.push_back({"right_link", Value::list_of(drill.right.link)});
    return state;
}

Value exercise_record(const Exercise& exercise) {
    const sim::Score& score = *exercise.score();
    const sim::Answers& answers = exercise.answers();
    Value::List log;
    for (const LogLine& line : exercise.log())
        log.push_back(Value::Object{{"at", plant_seconds(line.at)}, {"what", line.what}, {"about", line.about}});
    Value::Object record{{"begins", exercise.drill().clock},
                         {"story", exercise.drill().story},
                         {"plant", exercise.drill().plant},
                         {"cause", exercise.drill().cause},
                         {"conduct", Value::list_of(answers.conduct)},
                         {"kept", Value::list_of(answers.kept)},
                         {"cannot_tell", answers.cannot_tell},
                         {"where", answers.where},
                         {"what", answers.what},
                         {"because", answers.because},
                         {"actions", in_words(exercise, answers.actions)},
                         {"done", done_state(exercise)},
                         {"judged", is_judged(exercise)},
                         {"trainer", touches_state(exercise)},
                         {"secure", is_judged(exercise) ? Value(score.secure) : Value()},
                         {"evidence", is_judged(exercise) ? Value(score.evidence) : Value()},
                         {"diagnosis", is_judged(exercise) ? Value(score.diagnosis) : Value()},
                         {"action", is_judged(exercise) ? Value(score.action) : Value()},
                         {"dangerous", reasons(exercise, score.dangerous)},
                         {"corrected", reasons(exercise, score.corrected)},
                         {"remarks", is_judged(exercise) ? remarks_of(score) : Value(Value::List{})},
                         {"log", std::move(log)}};
    if (exercise.by_hand().free) record.push_back({"free", free_state(exercise)});
    if (exercise.drill().cell) record.push_back({"link", answers.link});
    return record;
}

}  // namespace tools
