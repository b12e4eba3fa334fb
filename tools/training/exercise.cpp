#include "tools/training/exercise.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/training/measured_here.hpp"
#include "tools/training/exercise_readings.hpp"

#include <algorithm>
#include <charconv>
#include <utility>

namespace tools {
namespace {

using proto::Instant;

template <class List>
bool is_one_of(const List& list, std::string_view word) {
    return std::find(list.begin(), list.end(), word) != list.end();
}

void toggle(std::vector<std::string>& list, const std::string& word) {
    const auto found = std::find(list.begin(), list.end(), word);
    if (found == list.end())
        list.push_back(word);
    else
        list.erase(found);
}

void add_once(std::vector<sim::Reasoned>& list, const sim::Reasoned& one) {
    if (sim::find_by_id(list, one.id) == nullptr) list.push_back(one);
}

constexpr std::string_view why_not_reset_early =
    "Somebody latched it and may need help, or be where it stops the machine: nobody has looked, or asked.";
constexpr std::string_view why_not_restart_early =
    "It moves now, with the fault still in it, and nobody knows who or what is in the zone. The guards may not stop "
    "it.";

}  // namespace

std::string field_of(const ActFields& fields, const std::string& key) {
    const auto found = fields.find(key);
    return found == fields.end() ? std::string() : found->second;
}

ActFields only(const ActFields& fields, std::initializer_list<const char*> keys) {
    ActFields kept;
    for (const char* key : keys)
        if (const auto found = fields.find(key); found != fields.end()) kept.insert(*found);
    return kept;
}

std::optional<unsigned> number_of(const ActFields& fields, const std::string& key) {
    const std::string text = field_of(fields, key);
    unsigned value = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (text.empty() || error != std::errc{} || end != text.data() + text.size()) return std::nullopt;
    return value;
}

Exercise::Exercise(const sim::Drill& drill, std::unique_ptr<sim::Bench> bench,
                   const std::vector<sim::ActionCard>& cards, ExerciseMode mode, Instant wall, std::int64_t begun)
    : drill_(drill),
      cards_(cards),
      mode_(mode),
      bench_(std::move(bench)),
      work_(drill, cards, *bench_),
      clock_(bench_->now(), wall),
      broken_(sim::broken_promises(drill, *bench_)),
      begun_(begun),
      seen_(wall),
      own_faults_(bench_->scenario().faults.size()) {
    for (std::size_t i = 0; i < bench_->scenario().safeguards.size(); ++i)
        latched_when_come_.push_back(bench_->plant().safeguard(i).latched());
    note("came");
}

Exercise::Exercise(const sim::Drill& drill, const std::vector<sim::ActionCard>& cards, ExerciseMode mode, Instant wall,
                   std::int64_t begun)
    : Exercise(drill, sim::bench_of(drill, drill.scenario.seed), cards, mode, wall, begun) {}

Exercise::Exercise(std::unique_ptr<const sim::Drill> drill, std::unique_ptr<sim::Bench> bench,
                   const std::vector<sim::ActionCard>& cards, ExerciseMode mode, Instant wall, std::int64_t begun)
    : Exercise(*drill, std::move(bench), cards, mode, wall, begun) {
    own_drill_ = std::move(drill);
}

void Exercise::run_on(Instant wall) {
    if (wall > seen_ && !over()) took_ = took_ + (wall - seen_);
    const proto::Duration passed = wall > seen_ ? wall - seen_ : proto::Duration{};
    seen_ = std::max(seen_, wall);
    const sim::Pace pace = clock_.pace();
    if (work_.busy() && pace != sim::Pace::paused) {
        const sim::Work& under_way = work_.works().back();
        const proto::Duration whole = under_way.until - under_way.begun;
        const std::int64_t times = std::max<std::int64_t>(1, whole.ns / work_lasts.ns);
        const proto::Duration by{std::min(work_slice.ns, passed.ns * times)};
        run_bench_to(std::min(under_way.until, bench_->now() + by));
        clock_ = sim::BenchClock(bench_->now(), wall);
        clock_.set_pace(pace, wall);
        return;
    }
    Instant to = clock_.at(wall);
    const Instant latest = bench_->now() + proto::seconds(2);
    if (to > latest) {
        clock_ = sim::BenchClock(latest, wall);
        clock_.set_pace(pace, wall);
        to = latest;
    }
    run_bench_to(to);
}

void Exercise::run_bench_to(Instant end) {
    work_.run_until(end);
    tell_of_work();
}

void Exercise::repeat(Instant at, const ActFields& fields, Instant wall) {
    run_bench_to(at);
    if (act(fields)) instruct(fields);
    clock_ = sim::BenchClock(bench_->now(), wall);
    seen_ = wall;
    took_ = std::max(took_, bench_->now() - (Instant{} + drill_.comes_after));
}

void Exercise::note(LogId what, std::string about, bool untold) {
    if (log_.size() < log_lines_max) log_.push_back({bench_->now(), std::string(what.id()), std::move(about), untold});
}

/// It was done at the plant, and stays done.
void Exercise::warn(const std::string& id, const std::string& why) {
    add_once(answers_.dangerous, {id, why});
    if (mode_ == ExerciseMode::practice) {
        warned_ = sim::Reasoned{id, why};
        play(id);
    }
    note("danger", words_of(id), mode_ == ExerciseMode::exam);
}

/// It was only meant: it is taken back, and what is handed in then is judged as what it is.
void Exercise::explain(const std::string& id, const std::string& why) {
    add_once(answers_.corrected, {id, why});
    warned_ = sim::Reasoned{id, why};
    note("taken-back", words_of(id));
}

std::string Exercise::words_of(const std::string& id) const {
    const sim::ActionCard* const card = sim::find_by_id(cards_, id);
    return card != nullptr ? card->words : id;
}

std::string Exercise::why_not(std::string_view card) const {
    const sim::ActionCard* const found = sim::find_by_id(cards_, card);
    return found != nullptr ? found->why : std::string();
}

/// Whether the instrument was used without which there is nothing to read.
bool Exercise::may_keep(std::string_view reading) const {
    const auto was_used = [&](std::string_view instrument) { return is_one_of(used_, instrument); };
    if (reading == "signals") return true;
    if (reading == "received-counters" || reading == "ages")
        return was_used("controller-panel") && was_used("io-panel");
    if (reading == "on-since") return was_used("io-panel");
    if (reading == "longest-cycle" || reading == "round-trips") return was_used("controller-panel");
    return was_used(reading);
}

std::optional<Exercise::Refusal> Exercise::act(const ActFields& fields) {
    const std::string act = field_of(fields, "act");
    if (act == ActId("understood").id()) {
        warned_.reset();
        return std::nullopt;
    }
    if (over()) return Refusal{409, "the drill is over"};
    if (work_.busy() && act != ActId("keep").id() && act != ActId("hint").id() && act != ActId("instrument").id() &&
        act != ActId("step").id())
        return Refusal{409, RefusalId("busy").id()};
    if (acts_ >= acts_max) return Refusal{409, "too many acts in one drill"};
    Done refusal = do_as_told(fields);
    if (!refusal) ++acts_;
    return refusal;
}

Exercise::Done Exercise::do_as_told(const ActFields& fields) {
    const std::string act = field_of(fields, "act"), value = field_of(fields, "value");
    const auto is = [&](ActId one) { return act == one.id(); };
    if (is("step")) return step_to(fields);
    if (is("conduct")) return conduct(value);
    if (is("instrument")) return use(value);
    if (is("demand")) return demand(fields);
    if (is("keep")) return keep(value);
    if (is("acknowledge")) return acknowledge(value);
    if (is("reset")) return reset();
    if (is("restart")) return restart(value);
    if (is("hint")) return hint();
    if (is("cannot-tell")) return cannot_tell();
    if (is("name")) return name(fields);
    if (is("work")) return do_work(fields);
    if (is("hand-over")) return hand_over();
    return Refusal{400, "no such act"};
}

Exercise::Done Exercise::step_to(const ActFields& fields) {
    const auto step = number_of(fields, "value");
    if (!step || *step < 1 || *step > 4) return Refusal{400, "no such step"};
    // in practice it is told at once, in an exam at its end
    if (*step > 1 && moves_unstopped() && mode_ == ExerciseMode::practice)
        return Refusal{409, RefusalId("still-moves").id()};
    if (*step > 1) look_on();
    step_ = static_cast<int>(*step);
    note("step", std::to_string(*step));
    return std::nullopt;
}

/// It moves, had to be stopped before anything else, and nobody has: while it slows down it is stopped already.
bool Exercise::moves_unstopped() const { return drill_.must_be_stopped && bench_->anything_moves_unstopped(); }
void Exercise::look_on() { answers_.stopped_late = answers_.stopped_late || moves_unstopped(); }

Exercise::Done Exercise::conduct(const std::string& choice) {
    if (!is_one_of(sim::conduct_words, choice)) return Refusal{400, "no such choice"};
    if (choice == "acknowledge-first") {
        bench_->acknowledge();
        warn(std::string(DangerId("acknowledge-early").id()), why_not("acknowledge-early"));
        return std::nullopt;
    }
    if (choice == "leave-stopped" && !is_one_of(answers_.conduct, choice) && bench_->anything_moves())
        return Refusal{409, RefusalId("it-moves").id()};
    toggle(answers_.conduct, choice);
    const bool on = is_one_of(answers_.conduct, choice);
    note(on ? LogId("conduct") : LogId("conduct-not"), choice);
    if (choice == "emergency-stop") bench_->press_emergency_stop(on);
    if (choice == "lock-out") bench_->isolate(on);
    return std::nullopt;
}

Exercise::Done Exercise::use(const std::string& instrument) {
    const auto* const found =
        std::find_if(instruments.begin(), instruments.end(), [&](const Word& one) { return one.id == instrument; });
    if (found == instruments.end()) return Refusal{400, "no such instrument"};
    if (!is_one_of(used_, instrument)) used_.push_back(instrument);
    look_on();
    note("instrument", instrument);
    return std::nullopt;
}

Exercise::Done Exercise::demand(const ActFields& fields) {
    const auto guard = number_of(fields, "value");
    if (!guard || *guard >= bench_->scenario().safeguards.size()) return Refusal{400, "no such guard"};
    look_on();
    bench_->demand(*guard);
    if (!is_one_of(used_, sim::test_demand_reading)) used_.emplace_back(sim::test_demand_reading);
    note("demand", spoken(bench_->scenario().safeguards[*guard].name));
    return std::nullopt;
}

Exercise::Done Exercise::keep(const std::string& reading) {
    if (!is_one_of(sim::reading_words, reading) && reading != sim::test_demand_reading)
        return Refusal{400, "no such reading"};
    for (std::size_t i = 0; i < bench_->links(); ++i)
        if (const std::string_view why = sim::why_not_measured(bench_->of_link(i).scenario(), reading); !why.empty())
            return Refusal{409, why};
    if (!may_keep(reading)) return Refusal{409, "not read yet"};
    if (answers_.kept.size() >= sim::kept_max && !is_one_of(answers_.kept, reading))
        return Refusal{409, RefusalId("enough-kept").id()};
    toggle(answers_.kept, reading);
    note(is_one_of(answers_.kept, reading) ? LogId("keep") : LogId("drop"), reading);
    return std::nullopt;
}

/// By its number among several; nothing if there is none.
std::optional<std::size_t> Exercise::link_of(const std::string& number) const {
    const auto link = number_of({{"value", number}}, "value");
    return bench_->links() > 1 && link && *link < bench_->links() ? std::optional<std::size_t>(*link) : std::nullopt;
}

Exercise::Done Exercise::acknowledge(const std::string& link) {
    const std::optional<std::size_t> one = link_of(link);
    if (bench_->links() > 1 && !link.empty() && !one) return Refusal{400, "no such link"};
    const bool asked = one ? bench_->of_link(*one).panel(sim::End::controller).asks_for_acknowledgement
                           : bench_->asks_for_acknowledgement();
    bench_->acknowledge(one);
    if (one)
        note("acknowledge-link", bench_->of_link(*one).link_name());
    else
        note("acknowledge");
    if (asked) warn(std::string(DangerId("acknowledge-early").id()), why_not("acknowledge-early"));
    return std::nullopt;
}

Exercise::Done Exercise::reset() {
    bool of_somebody = false;
    for (std::size_t i = 0; i < bench_->scenario().safeguards.size(); ++i) {
        of_somebody = of_somebody || (latched_when_come_[i] && bench_->plant().safeguard(i).latched());
        bench_->reset(i);
    }
    note("reset");
    if (of_somebody) warn(std::string(DangerId("reset-early").id()), std::string(why_not_reset_early));
    return std::nullopt;
}

Exercise::Done Exercise::restart(const std::string& link) {
    const std::optional<std::size_t> one = link_of(link);
    if (bench_->links() > 1 && !link.empty() && !one) return Refusal{400, "no such link"};
    if (one)
        note("restart-link", bench_->of_link(*one).link_name());
    else
        note("restart");
    const std::optional<sim::StartRefusal> refused = bench_->start_machine(one);
    if (refused)
        note("not-started", std::string(not_started_words[static_cast<std::size_t>(*refused)].id));
    else
        warn(std::string(DangerId("restart-early").id()), std::string(why_not_restart_early));
    return std::nullopt;
}

Exercise::Done Exercise::hint() {
    if (mode_ == ExerciseMode::exam) return Refusal{409, "no hints in an exam"};
    if (hints_ < drill_.hints.size()) ++hints_;
    note("hint");
    return std::nullopt;
}

Exercise::Done Exercise::cannot_tell() {
    if (!work_.works().empty()) return Refusal{409, RefusalId("named-stands").id()};
    answers_.cannot_tell = true;
    kept_when_named_ = answers_.kept;
    by_hand_.answerable = faults_by_hand();
    answers_.link = answers_.where = answers_.what = answers_.because = "";
    step_ = 4;
    note("cannot-tell");
    return std::nullopt;
}

Exercise::Done Exercise::name(const ActFields& fields) {
    if (!work_.works().empty()) return Refusal{409, RefusalId("named-stands").id()};
    const std::string where = field_of(fields, "where"), what = field_of(fields, "what"),
                      because = field_of(fields, "because");
    if (!is_one_of(sim::where_words, where) || !is_one_of(sim::what_words, what))
        return Refusal{400, RefusalId("where or what is missing").id()};
    const std::optional<std::size_t> link = link_of(field_of(fields, "link"));
    if (bench_->links() > 1 && !link) return Refusal{400, RefusalId("link is missing").id()};
    if (!is_one_of(answers_.kept, because)) return Refusal{409, RefusalId("nothing-kept").id()};
    answers_.cannot_tell = false;
    answers_.link = link ? bench_->of_link(*link).link_name() : "";
    answers_.where = where;
    answers_.what = what;
    answers_.because = because;
    kept_when_named_ = answers_.kept;
    by_hand_.answerable = faults_by_hand();
    step_ = 4;
    note("named", what);
    return std::nullopt;
}

}  // namespace tools
