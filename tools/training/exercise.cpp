#include "tools/training/exercise.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/training/measured_here.hpp"
#include "tools/training/exercise_readings.hpp"

#include <algorithm>
#include <charconv>

namespace tools {
namespace {

using proto::Instant;

template <class List>
bool is_one_of(const List& list, std::string_view word) {
    return std::find(list.begin(), list.end(), word) != list.end();
}

std::vector<std::string> split(const std::string& text) {
    std::vector<std::string> parts;
    for (std::size_t from = 0; from < text.size();) {
        const std::size_t comma = std::min(text.find(',', from), text.size());
        if (comma > from) parts.push_back(text.substr(from, comma - from));
        from = comma + 1;
    }
    return parts;
}

void toggle(std::vector<std::string>& list, const std::string& word) {
    const auto found = std::find(list.begin(), list.end(), word);
    if (found == list.end())
        list.push_back(word);
    else
        list.erase(found);
}

/// A fault as an instructor chooses it: the error and the place, and how long; the rest is what shows plainly.
std::optional<sim::Fault> fault_of(const ActFields& fields) {
    using Way = sim::FaultWay;
    const std::string way = field_of(fields, "way"), where = field_of(fields, "where");
    const auto* const found =
        std::find_if(fault_ways.begin(), fault_ways.end(), [&](Way one) { return sim::name_of(one) == way; });
    if (found == fault_ways.end()) return std::nullopt;
    sim::Fault fault;
    fault.way = *found;
    const unsigned lasting_ms = std::clamp(number_of(fields, "lasting_ms").value_or(1000), 1U, fault_lasting_max_ms);
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

Exercise::Exercise(const sim::Drill& drill, const std::vector<sim::ActionCard>& cards, ExerciseMode mode, Instant wall,
                   std::int64_t begun)
    : drill_(drill),
      cards_(cards),
      mode_(mode),
      bench_(sim::bench_of(drill, drill.scenario.seed)),
      clock_(bench_->now(), wall),
      broken_(sim::broken_promises(drill, *bench_)),
      begun_(begun),
      seen_(wall) {
    note("came");
}

void Exercise::run_on(Instant wall) {
    if (wall > seen_ && !over()) took_ = took_ + (wall - seen_);
    seen_ = std::max(seen_, wall);
    Instant to = clock_.at(wall);
    const Instant latest = bench_->now() + proto::seconds(2);
    if (to > latest) {
        const sim::Pace pace = clock_.pace();
        clock_ = sim::BenchClock(latest, wall);
        clock_.set_pace(pace, wall);
        to = latest;
    }
    bench_->run_until(to);
}

void Exercise::repeat(Instant at, const ActFields& fields, Instant wall) {
    bench_->run_until(at);
    if (act(fields)) instruct(fields);
    clock_ = sim::BenchClock(bench_->now(), wall);
    seen_ = wall;
    took_ = std::max(took_, bench_->now() - (Instant{} + drill_.comes_after));
}

void Exercise::note(LogId what, std::string about, bool untold) {
    if (log_.size() < log_lines_max) log_.push_back({bench_->now(), std::string(what.id()), std::move(about), untold});
}

void Exercise::warn(const std::string& id, const std::string& why) {
    if (std::none_of(answers_.dangerous.begin(), answers_.dangerous.end(),
                     [&](const sim::Reasoned& one) { return one.id == id; }))
        answers_.dangerous.push_back({id, why});
    if (mode_ == ExerciseMode::practice) warned_ = sim::Reasoned{id, why};
    note("danger", words_of(id), mode_ == ExerciseMode::exam);
}

std::string Exercise::words_of(const std::string& id) const {
    for (const sim::ActionCard& card : cards_)
        if (card.id == id) return card.words;
    return id;
}

std::string Exercise::why_not_early() const {
    for (const sim::ActionCard& card : cards_)
        if (card.id == "acknowledge-early") return card.why;
    return {};
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
    if (is("acknowledge")) return acknowledge();
    if (is("reset")) return reset();
    if (is("restart")) return restart();
    if (is("hint")) return hint();
    if (is("cannot-tell")) return cannot_tell();
    if (is("name")) return name(fields);
    if (is("do")) return finish(value);
    return Refusal{400, "no such act"};
}

Exercise::Done Exercise::step_to(const ActFields& fields) {
    const auto step = number_of(fields, "value");
    if (!step || *step < 1 || *step > 4) return Refusal{400, "no such step"};
    step_ = static_cast<int>(*step);
    note("step", std::to_string(*step));
    return std::nullopt;
}

Exercise::Done Exercise::conduct(const std::string& choice) {
    if (!is_one_of(sim::conduct_words, choice)) return Refusal{400, "no such choice"};
    if (choice == "acknowledge-first") {
        bench_->acknowledge();
        warn(std::string(DangerId("acknowledge-early").id()), why_not_early());
        return std::nullopt;
    }
    toggle(answers_.conduct, choice);
    note(is_one_of(answers_.conduct, choice) ? LogId("conduct") : LogId("conduct-not"), choice);
    if (choice == "emergency-stop") bench_->press_emergency_stop(is_one_of(answers_.conduct, choice));
    return std::nullopt;
}

Exercise::Done Exercise::use(const std::string& instrument) {
    const auto* const found =
        std::find_if(instruments.begin(), instruments.end(), [&](const Word& one) { return one.id == instrument; });
    if (found == instruments.end()) return Refusal{400, "no such instrument"};
    if (!is_one_of(used_, instrument)) used_.push_back(instrument);
    note("instrument", instrument);
    return std::nullopt;
}

Exercise::Done Exercise::demand(const ActFields& fields) {
    const auto guard = number_of(fields, "value");
    if (!guard || *guard >= bench_->scenario().safeguards.size()) return Refusal{400, "no such guard"};
    bench_->demand(*guard);
    if (!is_one_of(used_, sim::test_demand_reading)) used_.emplace_back(sim::test_demand_reading);
    note("demand", spoken(bench_->scenario().safeguards[*guard].name));
    return std::nullopt;
}

Exercise::Done Exercise::keep(const std::string& reading) {
    if (!is_one_of(sim::reading_words, reading) && reading != sim::test_demand_reading)
        return Refusal{400, "no such reading"};
    if (const std::string_view why = sim::why_not_measured(bench_->scenario(), reading); !why.empty())
        return Refusal{409, why};
    if (!may_keep(reading)) return Refusal{409, "not read yet"};
    toggle(answers_.kept, reading);
    note(is_one_of(answers_.kept, reading) ? LogId("keep") : LogId("drop"), reading);
    return std::nullopt;
}

Exercise::Done Exercise::acknowledge() {
    const bool asked = bench_->panel(sim::End::controller).asks_for_acknowledgement;
    bench_->acknowledge();
    note("acknowledge");
    if (asked) warn(std::string(DangerId("acknowledge-early").id()), why_not_early());
    return std::nullopt;
}

Exercise::Done Exercise::reset() {
    for (std::size_t i = 0; i < bench_->scenario().safeguards.size(); ++i) bench_->reset(i);
    note("reset");
    return std::nullopt;
}

Exercise::Done Exercise::restart() {
    note("restart");
    if (bench_->start_machine()) warn(std::string(DangerId("restart-early").id()), why_not_early());
    return std::nullopt;
}

Exercise::Done Exercise::hint() {
    if (mode_ == ExerciseMode::exam) return Refusal{409, "no hints in an exam"};
    if (hints_ < drill_.hints.size()) ++hints_;
    note("hint");
    return std::nullopt;
}

Exercise::Done Exercise::cannot_tell() {
    answers_.cannot_tell = true;
    answers_.where = answers_.what = answers_.because = "";
    step_ = 4;
    note("cannot-tell");
    return std::nullopt;
}

Exercise::Done Exercise::name(const ActFields& fields) {
    const std::string where = field_of(fields, "where"), what = field_of(fields, "what"),
                      because = field_of(fields, "because");
    if (!is_one_of(sim::where_words, where) || !is_one_of(sim::what_words, what))
        return Refusal{400, RefusalId("where or what is missing").id()};
    if (!is_one_of(answers_.kept, because)) return Refusal{409, RefusalId("nothing-kept").id()};
    answers_.cannot_tell = false;
    answers_.where = where;
    answers_.what = what;
    answers_.because = because;
    step_ = 4;
    note("named", what);
    return std::nullopt;
}

Exercise::Done Exercise::finish(const std::string& text) {
    const std::vector<std::string> actions = split(text);
    if (actions.empty() || actions.size() > sim::actions_max) return Refusal{400, "choose one to four actions"};
    for (const std::string& id : actions)
        if (std::none_of(cards_.begin(), cards_.end(), [&](const sim::ActionCard& card) { return card.id == id; }))
            return Refusal{400, "no such action"};
    for (std::size_t i = 0; i < actions.size() && mode_ == ExerciseMode::practice; ++i)
        if (const auto why = sim::danger_of(drill_, cards_, actions, i)) {
            warn(actions[i], *why);
            return std::nullopt;
        }
    answers_.actions = actions;
    answers_.acted = true;
    score_ = sim::score_of(drill_, cards_, answers_);
    step_ = 5;
    note("done");
    return std::nullopt;
}

std::optional<Exercise::Refusal> Exercise::instruct(const ActFields& fields) {
    const std::string act = field_of(fields, "act");
    if (act == "cause") {
        cause_shown_ = field_of(fields, "show") == "true";
        note(cause_shown_ ? LogId("cause-shown") : LogId("cause-hidden"), "", !cause_shown_);
        return std::nullopt;
    }
    if (act == "put-in") return put_in(fields);
    if (act == "take-out") {
        bench_->take_out_faults();
        note("taken-out", "", true);
        return std::nullopt;
    }
    return Refusal{404, "no such act"};
}

Exercise::Done Exercise::put_in(const ActFields& fields) {
    std::optional<sim::Fault> fault = fault_of(fields);
    if (!fault) return Refusal{400, "no such fault"};
    const bool at_demand = field_of(fields, "when") == "demand";
    const unsigned after_s = std::min(number_of(fields, "after_s").value_or(0), fault_after_max_s);
    const bool taken = at_demand ? bench_->put_in_at_next_demand(std::move(*fault))
                                 : bench_->put_in(std::move(*fault), proto::seconds(after_s));
    if (!taken) return Refusal{409, "no neighbour here, or too many faults"};
    note("put-in", field_of(fields, "way"), true);
    return std::nullopt;
}

std::string Exercise::result() const {
    return broken_.empty() ? std::string(sim::name_of(score_->result)) : "drill-broken";
}

}  // namespace tools
