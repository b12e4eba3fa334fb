// Work at the plant: each act card is done at its place and in its time, and what came of it is told.
#include <algorithm>

#include "sim/scenario/scenario.hpp"
#include "tools/training/exercise_readings.hpp"
#include "tools/training/vocabulary_records.hpp"
#include "tools/training/vocabulary_work.hpp"

namespace tools {
namespace {

std::string in_ms(proto::Duration time) { return std::to_string((time.ns + 999'999) / 1'000'000) + " ms"; }

/// "3 min", "62 s", "240 ms".
std::string in_words(proto::Duration time) {
    const std::int64_t seconds = time.ns / proto::seconds(1).ns;
    if (seconds < 10) return in_ms(time);
    if (seconds >= 120 && seconds % 60 == 0) return std::to_string(seconds / 60) + " min";
    return std::to_string(seconds) + " s";
}

std::string tried_in_words(const Exercise& exercise, const sim::GuardTried& tried) {
    const sim::Bench& bench = exercise.bench();
    const auto word = [&](TriedId id) {
        const auto found =
            std::find_if(tried_words.begin(), tried_words.end(), [&](const Word& one) { return one.id == id.id(); });
        return filled(found->text, {spoken(bench.scenario().safeguards[tried.guard].name)});
    };
    if (tried.was_off) return word("was-off");
    // a right one that falls does not make up for another that falls with it
    if (tried.others_fell) return word("other-fell");
    if (tried.fell_sent && tried.fell_used) return word("fell");
    if (tried.fell_sent) return word("sent-only");
    return word("did-not-fall");
}

/// Why a card helps nothing here: the drill's own reason where it has one.
std::string why_nothing(const Exercise& exercise, const std::string& id) {
    const sim::Drill& drill = exercise.drill();
    if (const sim::Reasoned* const own = sim::find_by_id(drill.no_help, id)) return own->why;
    if (const sim::Reasoned* const own = sim::find_by_id(drill.helpful, id)) return own->why;
    const sim::ActionCard* const card = sim::find_by_id(exercise.cards(), id);
    return card != nullptr ? card->why : std::string();
}

Value duration_ms(const std::optional<proto::Duration>& time) { return time ? Value(*time) : Value(); }
/// How far something went is told no shorter than it was, and how far away a guard stands no farther.
Value went_mm(const std::optional<std::int64_t>& um) { return um ? Value((*um + 999) / 1000) : Value(); }
Value away_mm(const std::optional<std::int64_t>& um) { return um ? Value(*um / 1000) : Value(); }

/// In an exam nobody is told before its end whether it was the right thing.
bool keeps_quiet(const Exercise& exercise, const sim::Work& work) {
    using E = sim::WorkEffect;
    const bool tells = work.effect == E::mended || work.effect == E::nothing_wrong || work.effect == E::nothing_differs;
    return tells && exercise.mode() == ExerciseMode::exam && !exercise.over();
}

}  // namespace

std::string effect_words_of(const Exercise& exercise, const sim::Work& work) {
    using E = sim::WorkEffect;
    const std::string words = word_of("effects", std::string(sim::name_of(work.effect)));
    const std::string& id = exercise.cards()[work.card].id;
    if (keeps_quiet(exercise, work)) return word_of("effects_untold", "worked");
    switch (work.effect) {
        case E::nothing_wrong: return filled(words, {why_nothing(exercise, id)});
        case E::not_started:
            return filled(words, {std::string(not_started_words[static_cast<std::size_t>(*work.refusal)].text)});
        case E::link_fell:
        case E::stopped_by_guard: return filled(words, {work.after ? in_words(*work.after) : std::string("?")});
        case E::tried: {
            std::string all;
            for (const sim::GuardTried& one : work.tried)
                all += (all.empty() ? "" : ". ") + tried_in_words(exercise, one);
            return filled(words, {all + "."});
        }
        default: return words;
    }
}

Value work_state(const Exercise& exercise) {
    const sim::PlantWork& work = exercise.at_plant().work;
    if (!work.busy()) return {};
    const sim::Work& one = work.works().back();
    const sim::ActionCard& card = exercise.cards()[one.card];
    return Value::Object{{"card", card.id},
                         {"words", card.words},
                         {"place", sim::name_of(card.place)},
                         {"begun", plant_seconds(one.begun)},
                         {"until", plant_seconds(one.until)}};
}

Value done_state(const Exercise& exercise) {
    Value::List all;
    for (const sim::Work& one : exercise.at_plant().work.works()) {
        if (!one.over) continue;
        const sim::ActionCard& card = exercise.cards()[one.card];
        const std::string found = effect_words_of(exercise, one);
        all.push_back(
            Value::Object{{"card", card.id},
                          {"words", card.words},
                          {"place", sim::name_of(card.place)},
                          {"link", one.link ? Value(exercise.bench().of_link(*one.link).link_name()) : Value()},
                          {"begun", plant_seconds(one.begun)},
                          {"until", plant_seconds(one.until)},
                          {"found", Value::text_or_null(found)},
                          {"effect", one.effect == sim::WorkEffect::none || keeps_quiet(exercise, one)
                                         ? Value()
                                         : Value(sim::name_of(one.effect))}});
    }
    return all;
}

Value zone_state(const Exercise& exercise) {
    const sim::MachineModel* const machine = exercise.bench().plant().machine();
    using Hold = sim::MachineModel::Hold;
    return Value::Object{{"locked", machine != nullptr && machine->held(Hold::isolation)},
                         {"stop_latched", machine != nullptr && machine->held(Hold::emergency_stop)},
                         {"tools_in", exercise.at_plant().work.tools_in()}};
}

Value outcome_state(const Exercise& exercise, const sim::Consequence& one) {
    Value::List steps;
    for (const sim::ConsequenceStep& step : one.steps)
        steps.push_back(Value::Object{
            {"at_ms", step.at},
            {"what", sim::consequence_step_words[static_cast<std::size_t>(step.what)]},
            {"about", step.what == sim::ConsequenceStep::What::reached_in ? spoken(one.guard) : std::string()}});
    // since it was back in service, not since the act was done
    std::optional<proto::Duration> after;
    proto::Duration since{};
    for (const sim::ConsequenceStep& step : one.steps) {
        if (step.what == sim::ConsequenceStep::What::started) since = step.at;
        if (step.what == sim::ConsequenceStep::What::fell || step.what == sim::ConsequenceStep::What::reached_in)
            after = step.at - since;
    }
    const std::string kind(sim::name_of(one.kind));
    std::vector<std::string> values;
    using Kind = sim::ConsequenceKind;
    switch (one.kind) {
        case Kind::returned: values = {after ? in_words(*after) : "?"}; break;
        case Kind::late:
        case Kind::guarded: values = {one.stood ? in_ms(*one.stood) : "?"}; break;
        case Kind::too_near: values = {in_ms(*one.reckoned), std::to_string(one.hand->ns / 1'000'000) + " ms"}; break;
        case Kind::unguarded:
        case Kind::hands: values = {std::to_string((one.went_on_um.value_or(0) + 999) / 1000) + " mm"}; break;
        case Kind::stands:
            if (one.refusal) values = {std::string(not_started_words[static_cast<std::size_t>(*one.refusal)].text)};
            break;
    }
    const sim::ActionCard* const card = sim::find_by_id(exercise.cards(), one.card);
    return Value::Object{{"card", one.card},
                         {"words", card != nullptr ? card->words : word_of("dangers", one.card)},
                         {"kind", kind},
                         {"says", filled(word_of("outcomes", kind), values)},
                         {"after_s", after ? Value(after->ns / proto::seconds(1).ns) : Value()},
                         {"guard", Value::text_or_null(spoken(one.guard))},
                         {"distance_mm", away_mm(one.there_um)},
                         {"hand_ms", duration_ms(one.hand)},
                         {"stood_ms", duration_ms(one.stood)},
                         {"should_ms", duration_ms(one.should)},
                         {"reckoned_ms", duration_ms(one.reckoned)},
                         {"went_on_mm", went_mm(one.went_on_um)},
                         {"tries", one.tries},
                         {"steps", std::move(steps)}};
}

Value outcomes_state(const Exercise& exercise) {
    Value::List all;
    for (const sim::Consequence& one : exercise.at_plant().outcomes) all.push_back(outcome_state(exercise, one));
    return all;
}

/// What came of it stands in the log at its own hour.
void Exercise::tell_of_work() {
    const std::vector<sim::Work>& works = work_.works();
    for (; works_told_ < works.size() && works[works_told_].over; ++works_told_) {
        const sim::Work& one = works[works_told_];
        const std::string& id = cards_[one.card].id;
        const auto known = [&](const std::vector<std::string>& list) {
            return std::find(list.begin(), list.end(), id) != list.end();
        };
        if (!sim::in_vain(one.effect)) {
            std::erase(answers_.in_vain, id);
            if (!known(answers_.effective)) answers_.effective.push_back(id);
        } else if (!known(answers_.effective) && !known(answers_.in_vain)) {
            answers_.in_vain.push_back(id);
        }
        if (one.effect == sim::WorkEffect::none) continue;
        if (log_.size() < log_lines_max)
            log_.push_back({one.until, std::string(LogId("work-found").id()), effect_words_of(*this, one)});
    }
    for (; returns_told_ < work_.returned().size(); ++returns_told_)
        if (log_.size() < log_lines_max)
            log_.push_back({work_.returned()[returns_told_], std::string(LogId("came-again").id()), "", true});
}

void finish_work(Exercise& exercise) {
    if (!exercise.work_.busy()) return;
    exercise.run_bench_to(exercise.work_.works().back().until);
    const sim::Pace pace = exercise.pace();
    exercise.clock_ = sim::BenchClock(exercise.bench_->now(), exercise.seen_);
    exercise.set_pace(pace, exercise.seen_);
}

/// What it leads to is shown with it.
void Exercise::play(const std::string& id) {
    const auto known =
        std::find_if(outcomes_.begin(), outcomes_.end(), [&](const sim::Consequence& one) { return one.card == id; });
    if (known != outcomes_.end()) return;
    if (std::optional<sim::Consequence> outcome = sim::consequence_of(drill_, cards_, id, work_.mended()))
        outcomes_.push_back(std::move(*outcome));
}

Exercise::Done Exercise::do_work(const ActFields& fields) {
    const std::string id = field_of(fields, "value"), link_text = field_of(fields, "link");
    const auto card =
        std::find_if(cards_.begin(), cards_.end(), [&](const sim::ActionCard& one) { return one.id == id; });
    if (card == cards_.end()) return Refusal{400, "no such action"};
    if (step_ != 4) return Refusal{409, RefusalId("not-in-act").id()};
    const std::optional<std::size_t> link = link_of(link_text);
    if (!link_text.empty() && !link) return Refusal{400, "no such link"};
    if (answers_.actions.size() >= sim::actions_max || work_.works().size() >= sim::PlantWork::works_max)
        return Refusal{409, RefusalId("too-many-acts").id()};
    sim::Answers meant = answers_;
    meant.actions.push_back(id);
    const auto danger = sim::danger_of(judged_by(), cards_, meant, meant.actions.size() - 1);
    if (danger && mode_ == ExerciseMode::practice) {
        explain(id, *danger);
        play(id);
        return std::nullopt;
    }
    if (!kept_when_named_) {
        kept_when_named_ = answers_.kept;
        by_hand_.answerable = faults_by_hand();
    }
    answers_.actions.push_back(id);
    note("work-begun", card->words);
    work_.begin(static_cast<std::size_t>(card - cards_.begin()), link);
    tell_of_work();
    return std::nullopt;
}

Exercise::Done Exercise::hand_over() {
    if (answers_.actions.empty()) return Refusal{409, RefusalId("nothing-done").id()};
    answers_.acted = true;
    answers_.kept = *kept_when_named_;
    score_ = sim::score_of(judged_by(), cards_, answers_);
    for (const sim::Reasoned& one : score_->dangerous) play(one.id);
    step_ = 5;
    note("done");
    return std::nullopt;
}

}  // namespace tools
