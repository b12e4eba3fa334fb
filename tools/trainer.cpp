#include "tools/trainer.hpp"

#include <algorithm>
#include <charconv>
#include <ctime>

#include "tools/embedded.hpp"
#include "tools/json.hpp"

namespace tools {
namespace {

using proto::Instant;

constexpr std::size_t name_bytes_max = 40;
constexpr std::size_t log_lines_max = 400;
constexpr std::array<std::string_view, 7> instruments{"controller-panel", "io-panel",  "time-line",  "telegrams",
                                                      "settings",         "neighbour", "test-demand"};
constexpr std::array<unsigned, 7> instrument_minutes{0, 2, 1, 5, 5, 2, 1};

WebReply failed(int status, std::string_view why) {
    return {.status = status, .body = to_json(Value::Object{{"error", why}})};
}
WebReply said(Value value) { return {.body = to_json(std::move(value))}; }
WebReply page(const EmbeddedFile& file, const char* type) { return {.type = type, .body = std::string(file.content)}; }

std::string field(const WebRequest& request, const std::string& key) {
    const auto found = request.fields.find(key);
    return found == request.fields.end() ? std::string() : found->second;
}

std::optional<unsigned> number_field(const WebRequest& request, const std::string& key) {
    const std::string text = field(request, key);
    unsigned value = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (text.empty() || error != std::errc{} || end != text.data() + text.size()) return std::nullopt;
    return value;
}

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

/// The same time for every wrong guess.
bool same_secret(std::string_view a, std::string_view b) {
    unsigned differ = a.size() == b.size() ? 0 : 1;
    for (std::size_t i = 0; i < std::min(a.size(), b.size()); ++i)
        differ |= static_cast<unsigned>(static_cast<unsigned char>(a[i]) ^ static_cast<unsigned char>(b[i]));
    return differ == 0;
}

std::string local_time() {
    const std::time_t now = std::time(nullptr);
    std::tm parts{};
    localtime_r(&now, &parts);
    char text[32];
    const std::size_t length = std::strftime(text, sizeof text, "%Y-%m-%d %H:%M", &parts);
    return {text, length};
}

void note(Exercise& exercise, std::string what, std::string about = "") {
    if (exercise.log.size() < log_lines_max)
        exercise.log.push_back({exercise.bench->now(), std::move(what), std::move(about)});
}

void toggle(std::vector<std::string>& list, const std::string& word) {
    const auto found = std::find(list.begin(), list.end(), word);
    if (found == list.end())
        list.push_back(word);
    else
        list.erase(found);
}

/// Instruments without which there is nothing to read.
bool may_keep(const Exercise& exercise, std::string_view reading) {
    const auto used = [&](std::string_view instrument) { return is_one_of(exercise.used, instrument); };
    if (reading == "signals") return true;
    if (reading == "received-counters" || reading == "ages") return used("controller-panel") && used("io-panel");
    if (reading == "on-since") return used("io-panel");
    if (reading == "longest-cycle" || reading == "round-trips") return used("controller-panel");
    return used(reading);
}

std::string join_list(const std::vector<std::string>& list) {
    std::string text;
    for (const std::string& one : list) text += (text.empty() ? "" : " > ") + one;
    return text;
}

std::string early_why(const std::vector<sim::ActionCard>& cards) {
    for (const sim::ActionCard& card : cards)
        if (card.id == "acknowledge-early") return card.why;
    return {};
}

}  // namespace

Trainer::Trainer(sim::DrillSet drills, TrainerSettings settings, TrainingResults& results, std::function<Instant()> now,
                 std::function<std::string()> random)
    : drills_(std::move(drills)),
      settings_(std::move(settings)),
      results_(results),
      now_(std::move(now)),
      random_(std::move(random)) {}

Trainee* Trainer::trainee_of(const std::string& session) {
    const auto found = trainees_.find(session);
    return found == trainees_.end() ? nullptr : &found->second;
}

bool Trainer::is_instructor(const WebRequest& request) const {
    return request.local && same_secret(request.token, settings_.secret);
}

void Trainer::run_on() {
    const std::lock_guard lock(mutex_);
    const Instant now = now_();
    for (auto& [session, trainee] : trainees_) {
        if (!trainee.exercise) continue;
        Exercise& exercise = *trainee.exercise;
        // nobody looks on any more: it waits
        if (now - trainee.last_seen > proto::seconds(10) && exercise.clock.pace() != sim::Pace::paused)
            exercise.clock.set_pace(sim::Pace::paused, now);
        Instant to = exercise.clock.at(now);
        // after a pause of the whole computer it does not catch up
        const Instant latest = exercise.bench->now() + proto::seconds(2);
        if (to > latest) {
            const sim::Pace pace = exercise.clock.pace();
            exercise.clock = sim::BenchClock(latest, now);
            exercise.clock.set_pace(pace, now);
            to = latest;
        }
        exercise.bench->run_until(to);
    }
}

std::optional<std::string> Trainer::event(const WebRequest& request) {
    const std::lock_guard lock(mutex_);
    Trainee* trainee = trainee_of(request.session);
    if (trainee == nullptr) return std::nullopt;
    const Instant now = now_();
    if (trainee->exercise && now - trainee->last_seen > proto::seconds(10))
        trainee->exercise->clock.set_pace(sim::Pace::real, now);
    trainee->last_seen = now;
    Value state = trainee->exercise ? exercise_state(*trainee->exercise, drills_.cards) : Value();
    std::string text = to_json(Value::Object{{"exam", trainee->exam}, {"state", std::move(state)}});
    std::erase(text, '\n');
    return text;
}

WebReply Trainer::answer(const WebRequest& request) {
    const std::lock_guard lock(mutex_);
    return request.method == "POST" ? answer_post(request) : answer_get(request);
}

WebReply Trainer::answer_get(const WebRequest& request) {
    const std::string& path = request.path;
    if (path == "/" || path == "/drills" || path == "/mine" || path.starts_with("/drill/"))
        return page(training_page, "text/html; charset=utf-8");
    if (path == "/instructor")
        return request.local ? page(instructor_page, "text/html; charset=utf-8") : failed(403, "only on this machine");
    if (path == "/training.css") return page(training_style, "text/css; charset=utf-8");
    if (path == "/training.js") return page(training_script, "text/javascript; charset=utf-8");
    if (path == "/texts.js") return page(training_texts, "text/javascript; charset=utf-8");
    if (path == "/instructor.js") return page(instructor_script, "text/javascript; charset=utf-8");
    if (path == "/favicon.ico") return {.status = 204, .type = "image/x-icon", .body = ""};
    if (path.starts_with("/api/instructor/")) {
        if (!is_instructor(request)) return failed(403, "the instructor's secret is missing or wrong");
        if (path == "/api/instructor/room") return said(room());
        if (path == "/api/instructor/results.csv")
            return {.type = "text/csv; charset=utf-8", .body = results_csv(results_.all()), .download = "results.csv"};
        if (path == "/api/instructor/results.json") {
            Value::List all;
            for (const TrainingResult& result : results_.all()) all.push_back(described(result));
            return said(Value::Object{{"results", std::move(all)}});
        }
        return failed(404, "no such page");
    }
    if (path == "/api/me") {
        const Trainee* trainee = trainee_of(request.session);
        if (trainee == nullptr) return said(Value::Object{{"joined", false}, {"code", settings_.code.has_value()}});
        return said(Value::Object{
            {"joined", true}, {"name", trainee->name}, {"token", trainee->token}, {"exam", trainee->exam}});
    }
    const Trainee* trainee = trainee_of(request.session);
    if (trainee == nullptr) return failed(401, "join first");
    if (path == "/api/drills") {
        Value::List all;
        for (const sim::Drill& drill : drills_.drills)
            all.push_back(Value::Object{{"number", drill.number}, {"title", drill.title}, {"plant", drill.plant}});
        return said(Value::Object{{"drills", std::move(all)}});
    }
    if (path == "/api/state")
        return said(trainee->exercise ? exercise_state(*trainee->exercise, drills_.cards) : Value());
    if (path == "/api/results") {
        Value::List own;
        for (const TrainingResult& result : results_.all())
            if (result.name == trainee->name) own.push_back(described(result));
        return said(Value::Object{{"results", std::move(own)}});
    }
    return failed(404, "no such page");
}

WebReply Trainer::answer_post(const WebRequest& request) {
    if (request.path == "/api/join") return join(request);
    if (request.path.starts_with("/api/instructor/"))
        return is_instructor(request) ? instruct(request) : failed(403, "the instructor's secret is missing or wrong");
    Trainee* trainee = trainee_of(request.session);
    if (trainee == nullptr) return failed(401, "join first");
    if (!same_secret(request.token, trainee->token)) return failed(403, "the token is missing or wrong");
    trainee->last_seen = now_();
    if (request.path == "/api/start") return start(*trainee, request);
    if (request.path == "/api/act") return act(*trainee, request);
    return failed(404, "no such act");
}

WebReply Trainer::join(const WebRequest& request) {
    std::string name = field(request, "name").substr(0, name_bytes_max);
    std::erase_if(name, [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7F; });
    if (name.empty()) return failed(400, "name-missing");
    std::string code = field(request, "code");
    std::erase(code, ' ');
    if (settings_.code && !same_secret(code, *settings_.code)) return failed(403, "code-wrong");
    if (trainees_.size() >= places) {
        // whoever was not seen for an hour has left
        std::erase_if(trainees_, [&](const auto& one) { return now_() - one.second.last_seen > proto::seconds(3600); });
        if (trainees_.size() >= places) return failed(503, "room-full");
    }
    Trainee trainee{.session = random_(), .token = random_(), .name = name, .last_seen = now_(), .exercise = {}};
    WebReply reply = said(Value::Object{{"joined", true}, {"name", name}, {"token", trainee.token}});
    reply.session = trainee.session;
    trainees_.emplace(trainee.session, std::move(trainee));
    return reply;
}

WebReply Trainer::start(Trainee& trainee, const WebRequest& request) {
    const auto number = number_field(request, "drill");
    const sim::Drill* drill = number ? drills_.find(*number) : nullptr;
    if (drill == nullptr) return failed(400, "no such drill");
    trainee.exam = field(request, "mode") == "exam";
    trainee.exercise = std::make_unique<Exercise>(*drill, drill->scenario.seed, now_());
    note(*trainee.exercise, "came");
    return said(exercise_state(*trainee.exercise, drills_.cards));
}

void Trainer::finish(Trainee& trainee) {
    Exercise& exercise = *trainee.exercise;
    exercise.answers.acted = true;
    exercise.score = sim::score_of(exercise.drill, drills_.cards, exercise.answers);
    exercise.step = 5;
    std::string dangerous;
    for (const sim::Reasoned& one : exercise.score->dangerous) dangerous += (dangerous.empty() ? "" : ", ") + one.id;
    TrainingResult result{
        .when = local_time(),
        .name = trainee.name,
        .drill = exercise.drill.number,
        .title = exercise.drill.title,
        .mode = trainee.exam ? "exam" : "practice",
        .result = exercise.broken.empty() ? std::string(name_of(exercise.score->result)) : "drill-broken",
        .points = exercise.score->points(),
        .seconds = (now_() - exercise.began).ns / 1'000'000'000,
        .hints = exercise.hints,
        .where = exercise.answers.cannot_tell ? "cannot tell" : exercise.answers.where,
        .what = exercise.answers.what,
        .actions = join_list(exercise.answers.actions),
        .dangerous = dangerous};
    results_.add(std::move(result));
}

WebReply Trainer::act(Trainee& trainee, const WebRequest& request) {
    if (!trainee.exercise) return failed(409, "no drill was begun");
    Exercise& exercise = *trainee.exercise;
    sim::Bench& bench = *exercise.bench;
    const std::string act = field(request, "act"), value = field(request, "value");
    const bool over = exercise.step == 5;
    const auto warn = [&](const std::string& id, const std::string& why) {
        exercise.answers.dangerous.push_back({id, why});
        if (!trainee.exam) exercise.warned = sim::Reasoned{id, why};
        note(exercise, "danger", id);
    };
    if (act == "understood") {
        exercise.warned.reset();
    } else if (over) {
        return failed(409, "the drill is over");
    } else if (act == "step") {
        const auto step = number_field(request, "value");
        if (!step || *step < 1 || *step > 4) return failed(400, "no such step");
        exercise.step = static_cast<int>(*step);
        note(exercise, "step", value);
    } else if (act == "conduct") {
        if (!is_one_of(sim::conduct_words, value)) return failed(400, "no such choice");
        if (value == "acknowledge-first") {
            bench.acknowledge();
            warn("acknowledge-early", early_why(drills_.cards));
        } else {
            toggle(exercise.answers.conduct, value);
            if (value == "emergency-stop" && is_one_of(exercise.answers.conduct, value) && bench.machine_moves())
                for (std::size_t i = 0; i < bench.scenario().safeguards.size(); ++i) bench.demand(i);
            note(exercise, "conduct", value);
        }
    } else if (act == "instrument") {
        const auto found = std::find(instruments.begin(), instruments.end(), value);
        if (found == instruments.end()) return failed(400, "no such instrument");
        if (!is_one_of(exercise.used, value)) exercise.used.push_back(value);
        exercise.minutes += instrument_minutes[static_cast<std::size_t>(found - instruments.begin())];
        note(exercise, "instrument", value);
    } else if (act == "demand") {
        const auto guard = number_field(request, "value");
        if (!guard || *guard >= bench.scenario().safeguards.size()) return failed(400, "no such guard");
        bench.demand(*guard);
        if (!is_one_of(exercise.used, "test-demand")) exercise.used.emplace_back("test-demand");
        exercise.minutes += instrument_minutes.back();
        note(exercise, "demand", bench.scenario().safeguards[*guard].name);
    } else if (act == "keep") {
        const bool known = is_one_of(sim::reading_words, value) || value == sim::test_demand_reading;
        if (!known) return failed(400, "no such reading");
        if (!may_keep(exercise, value)) return failed(409, "not read yet");
        toggle(exercise.answers.kept, value);
        note(exercise, "keep", value);
    } else if (act == "acknowledge") {
        const bool asked = bench.panel(sim::End::controller).asks_for_acknowledgement;
        bench.acknowledge();
        note(exercise, "acknowledge");
        if (asked) warn("acknowledge-early", early_why(drills_.cards));
    } else if (act == "reset") {
        for (std::size_t i = 0; i < bench.scenario().safeguards.size(); ++i) bench.reset(i);
        note(exercise, "reset");
    } else if (act == "restart") {
        note(exercise, "restart");
        if (bench.start_machine()) warn("acknowledge-early", early_why(drills_.cards));
    } else if (act == "hint") {
        if (trainee.exam) return failed(409, "no hints in an exam");
        if (exercise.hints < exercise.drill.hints.size()) ++exercise.hints;
        note(exercise, "hint");
    } else if (act == "cannot-tell") {
        exercise.answers.cannot_tell = true;
        exercise.answers.where = exercise.answers.what = exercise.answers.because = "";
        exercise.step = 4;
        note(exercise, "cannot-tell");
    } else if (act == "name") {
        const std::string where = field(request, "where"), what = field(request, "what"),
                          because = field(request, "because");
        if (!is_one_of(sim::where_words, where) || !is_one_of(sim::what_words, what))
            return failed(400, "where or what is missing");
        if (!is_one_of(exercise.answers.kept, because)) return failed(409, "nothing-kept");
        exercise.answers.cannot_tell = false;
        exercise.answers.where = where;
        exercise.answers.what = what;
        exercise.answers.because = because;
        exercise.step = 4;
        note(exercise, "named", what);
    } else if (act == "do") {
        const std::vector<std::string> actions = split(value);
        if (actions.empty() || actions.size() > sim::actions_max) return failed(400, "choose one to four actions");
        for (const std::string& id : actions)
            if (std::none_of(drills_.cards.begin(), drills_.cards.end(),
                             [&](const sim::ActionCard& card) { return card.id == id; }))
                return failed(400, "no such action");
        for (std::size_t i = 0; i < actions.size() && !trainee.exam; ++i)
            if (const auto why = sim::danger_of(exercise.drill, drills_.cards, actions, i)) {
                // practice: explained at once, and the drill goes on from before it
                warn(actions[i], *why);
                return said(exercise_state(exercise, drills_.cards));
            }
        exercise.answers.actions = actions;
        finish(trainee);
    } else {
        return failed(400, "no such act");
    }
    return said(exercise_state(exercise, drills_.cards));
}

Value Trainer::room() const {
    Value::List rows;
    for (const auto& [session, trainee] : trainees_) {
        Value::Object row{{"name", trainee.name}, {"exam", trainee.exam}};
        row.push_back({"id", trainee.session.substr(0, 8)});
        if (trainee.exercise) {
            const Exercise& e = *trainee.exercise;
            row.push_back({"drill", std::to_string(e.drill.number) + " " + e.drill.title});
            row.push_back({"step", e.step});
            row.push_back({"seconds", (now_() - e.began).ns / 1'000'000'000});
            row.push_back({"last", e.log.empty() ? Value() : Value(e.log.back().what)});
            row.push_back({"about", e.log.empty() ? Value() : Value(e.log.back().about)});
            row.push_back({"dangerous", !e.answers.dangerous.empty()});
            row.push_back({"pace", e.clock.pace() == sim::Pace::paused    ? "paused"
                                   : e.clock.pace() == sim::Pace::quarter ? "quarter"
                                                                          : "real"});
            row.push_back({"cause_shown", e.cause_shown});
            row.push_back({"cause", e.drill.cause});
            row.push_back({"broken", Value::list_of(e.broken)});
        }
        rows.push_back(std::move(row));
    }
    return Value::Object{{"here", trainees_.size()},
                         {"places", places},
                         {"code", settings_.code ? Value(*settings_.code) : Value()},
                         {"address", settings_.address},
                         {"trainees", std::move(rows)}};
}

WebReply Trainer::instruct(const WebRequest& request) {
    const std::string act = request.path.substr(std::string_view("/api/instructor/").size());
    if (act == "delete") {
        const auto id = number_field(request, "id");
        return id && results_.remove(*id) ? said(Value::Object{{"deleted", *id}}) : failed(404, "no such record");
    }
    const std::string who = field(request, "who");
    std::size_t touched = 0;
    for (auto it = trainees_.begin(); it != trainees_.end();) {
        Trainee& trainee = it->second;
        const bool meant = who == "all" || (who.size() == 8 && trainee.session.starts_with(who));
        if (meant && act == "free") {
            it = trainees_.erase(it);
            ++touched;
            continue;
        }
        ++it;
        if (!meant || !trainee.exercise) continue;
        Exercise& exercise = *trainee.exercise;
        ++touched;
        if (act == "pace") {
            const std::string pace = field(request, "pace");
            exercise.clock.set_pace(pace == "paused"    ? sim::Pace::paused
                                    : pace == "quarter" ? sim::Pace::quarter
                                                        : sim::Pace::real,
                                    now_());
        } else if (act == "cause") {
            exercise.cause_shown = field(request, "show") == "true";
        } else if (act == "put-in") {
            WebReply reply = put_in(exercise, request);
            if (reply.status != 200) return reply;
        } else if (act == "take-out") {
            exercise.bench->take_out_faults();
        } else {
            return failed(404, "no such act");
        }
    }
    return touched > 0 ? said(Value::Object{{"touched", touched}}) : failed(404, "nobody at a drill is meant");
}

WebReply Trainer::put_in(Exercise& exercise, const WebRequest& request) {
    using Way = sim::FaultWay;
    const std::string way = field(request, "way"), where = field(request, "where");
    sim::Fault fault;
    bool known = false;
    for (const Way one : {Way::random_bits, Way::instead, Way::hold, Way::drop, Way::step, Way::neighbour, Way::no_crc,
                          Way::swap, Way::restart, Way::stall, Way::frozen_data, Way::clock_drift})
        if (sim::name_of(one) == way) {
            fault.way = one;
            known = true;
        }
    if (!known) return failed(400, "no such fault");
    const unsigned lasting_ms = std::clamp(number_field(request, "lasting_ms").value_or(1000), 1U, 600'000U);
    fault.error = sim::error_of(fault.way);
    fault.lasting = proto::milliseconds(lasting_ms);
    fault.count = 3;
    fault.hold = proto::milliseconds(70);
    fault.extra = proto::milliseconds(60);
    fault.drift_ppm = 200'000;
    if (fault.error == sim::ErrorKind::none) {
        fault.at_end = where == "controller" ? sim::End::controller : sim::End::device;
        if (fault.way == Way::frozen_data || fault.way == Way::clock_drift) fault.lasting.reset();
    } else {
        fault.to_device = where != "way-back";
        fault.to_controller = where != "way-out";
        if (fault.way == Way::hold) {
            fault.lasting.reset();
            fault.times = 1;
        }
    }
    if (!exercise.bench->put_in(std::move(fault))) return failed(409, "no neighbour here, or too many faults");
    return said(Value::Object{{"put_in", way}});
}

}  // namespace tools
