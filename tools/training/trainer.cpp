#include "tools/training/trainer.hpp"

#include <algorithm>
#include <ctime>

#include "sim/training/exam.hpp"
#include "tools/text/json.hpp"
#include "tools/training/vocabulary.hpp"

namespace tools {
namespace {

using proto::Instant;

constexpr proto::Duration nobody_looks_after = proto::seconds(3);  ///< so that nobody is judged on what was not seen
constexpr proto::Duration has_left_after = proto::seconds(3600);

std::string local_time(std::int64_t epoch_ms) {
    const std::time_t at = epoch_ms / 1000;
    std::tm parts{};
    localtime_r(&at, &parts);
    char text[32];
    const std::size_t length = std::strftime(text, sizeof text, "%Y-%m-%d %H:%M", &parts);
    return {text, length};
}

std::string join_list(const std::vector<std::string>& list, std::string_view between) {
    std::string text;
    for (const std::string& one : list) text += (text.empty() ? "" : std::string(between)) + one;
    return text;
}

std::uint64_t seed_from(const std::string& hex) {
    std::uint64_t seed = 0;
    for (const char digit : hex.substr(0, 16)) seed = seed * 31 + static_cast<unsigned char>(digit);
    return seed;
}

/// At most so many bytes, cut between characters of UTF-8.
std::string shortened(std::string text, std::size_t bytes) {
    if (text.size() <= bytes) return text;
    while (bytes > 0 && (static_cast<unsigned char>(text[bytes]) & 0xC0) == 0x80) --bytes;
    return text.substr(0, bytes);
}

/// An exam would be thrown away, and nobody said that it may.
bool in_the_middle(const Trainee& trainee, const WebRequest& request) {
    return trainee.in_exam() && !trainee.exam_over() && field_of(request.fields, "leave") != "true";
}

std::string on_one_line(const Value& value) {
    std::string text = to_json(value);
    std::erase(text, '\n');
    return text;
}

}  // namespace

WebReply refused(int status, std::string_view why) {
    return {.status = status, .body = to_json(Value::Object{{"error", why}})};
}
WebReply replied(const Value& value) { return {.body = to_json(value)}; }

bool same_secret(std::string_view a, std::string_view b) {
    unsigned differ = a.size() == b.size() ? 0 : 1;
    for (std::size_t i = 0; i < std::min(a.size(), b.size()); ++i)
        differ |= static_cast<unsigned>(static_cast<unsigned char>(a[i]) ^ static_cast<unsigned char>(b[i]));
    return differ == 0;
}

Trainer::Trainer(sim::DrillSet drills, TrainerSettings settings, TrainingStore& store, TrainerSurroundings surroundings)
    : drills_(std::move(drills)),
      settings_(std::move(settings)),
      store_(store),
      surroundings_(std::move(surroundings)),
      run_(surroundings_.random().substr(0, 8)) {
    take_up_again();
}

void Trainer::take_up_again() {
    const Instant now = surroundings_.now();
    for (KeptSession& kept : store_.sessions()) {
        const bool known = std::all_of(kept.drills.begin(), kept.drills.end(),
                                       [&](unsigned number) { return drills_.find(number) != nullptr; });
        if (!known || kept.begun.size() > kept.drills.size() || kept.begun.empty() != kept.drills.empty()) {
            // the drills have changed since
            store_.forget_acts(kept.session);
            kept.drills.clear();
            kept.begun.clear();
        }
        const std::vector<KeptAct> acts = store_.acts(kept.session);
        Trainee trainee{.kept = std::move(kept), .last_seen = now, .exercises = {}, .explained = {}};
        trainee.order = ++joined_;
        for (std::size_t i = 0; i < trainee.kept.begun.size(); ++i) {
            trainee.exercises.push_back(std::make_unique<Exercise>(*drills_.find(trainee.kept.drills[i]), drills_.cards,
                                                                   trainee.kept.mode, now, trainee.kept.begun[i]));
            for (const KeptAct& act : acts)
                if (act.drill == i) trainee.exercises.back()->repeat(act.at, act.fields, now);
        }
        std::string session = trainee.kept.session;
        trainees_.emplace(std::move(session), std::move(trainee));
    }
}

Trainee* Trainer::trainee_of(const std::string& session) {
    const auto found = trainees_.find(session);
    return found == trainees_.end() ? nullptr : &found->second;
}

void Trainer::run_on(Trainee& trainee, Instant now) {
    Exercise* const exercise = trainee.current();
    if (exercise == nullptr) return;
    const bool waits = now - trainee.last_seen > nobody_looks_after;
    const sim::Pace pace = waits || trainee.held ? sim::Pace::paused : trainee.pace;
    if (exercise->pace() != pace) exercise->set_pace(pace, now);
    trainee.waits = waits;
    exercise->run_on(now);
}

void Trainer::is_here(Trainee& trainee) {
    const Instant now = surroundings_.now();
    run_on(trainee, now);
    trainee.last_seen = now;
    trainee.seen = true;
}

void Trainer::run_on() {
    const std::lock_guard lock(mutex_);
    const Instant now = surroundings_.now();
    for (auto& [session, trainee] : trainees_) run_on(trainee, now);
}

void Trainer::be_reached_at(std::string address) {
    const std::lock_guard lock(mutex_);
    address_ = std::move(address);
}

bool Trainer::listens(const WebRequest& request) {
    const std::lock_guard lock(mutex_);
    Trainee* const trainee = trainee_of(request.session);
    if (trainee == nullptr || trainee->windows >= windows_max) return false;
    ++trainee->windows;
    return true;
}

void Trainer::listens_no_more(const WebRequest& request) {
    const std::lock_guard lock(mutex_);
    if (Trainee* trainee = trainee_of(request.session)) --trainee->windows;
}

std::optional<std::string> Trainer::event(const WebRequest& request) {
    const std::lock_guard lock(mutex_);
    Trainee* trainee = trainee_of(request.session);
    if (trainee == nullptr) return std::nullopt;
    is_here(*trainee);
    return on_one_line(news(*trainee));
}

Value Trainer::news(const Trainee& trainee) const {
    Value exam;
    if (trainee.in_exam()) {
        const bool over = trainee.exam_over();
        Value::List drills;
        for (std::size_t i = 0; over && i < trainee.exercises.size(); ++i) {
            const Exercise& one = *trainee.exercises[i];
            drills.push_back(
                Value::Object{{"number", one.drill().number},
                              {"title", one.drill().title},
                              {"result", one.result()},
                              {"points", one.score()->dangerous.empty() ? Value(one.score()->points()) : Value()}});
        }
        exam = Value::Object{{"at", trainee.exercises.size()},
                             {"of", trainee.kept.drills.size()},
                             {"over", over},
                             {"drills", std::move(drills)}};
    }
    const Exercise* const shown = trainee.shown();
    const bool titled = !trainee.in_exam() || trainee.exam_over();
    return Value::Object{{"run", run_},
                         {"told_ms", surroundings_.epoch_ms()},
                         {"windows", trainee.windows},
                         {"paused", trainee.pace == sim::Pace::paused},
                         {"held", trainee.held},
                         {"exam", std::move(exam)},
                         {"state", shown != nullptr ? exercise_state(*shown, titled) : Value()}};
}

WebReply Trainer::answer(const WebRequest& request) {
    const std::lock_guard lock(mutex_);
    return request.method == "POST" ? answer_post(request) : answer_get(request);
}

WebReply Trainer::answer_get(const WebRequest& request) {
    const std::string& path = request.path;
    if (std::optional<WebReply> page = built_in_page(path, request.local)) return std::move(*page);
    if (path.starts_with("/api/instructor/")) return tell_instructor(request);
    if (path == "/api/words") return replied(vocabulary());
    const Trainee* trainee = trainee_of(request.session);
    if (path == "/api/me") {
        if (trainee == nullptr) return replied(Value::Object{{"joined", false}, {"code", settings_.code.has_value()}});
        return replied(Value::Object{{"joined", true}, {"name", trainee->kept.name}, {"token", trainee->kept.token}});
    }
    if (trainee == nullptr) return refused(401, "join first");
    if (path == "/api/drills") {
        Value::List all;
        for (const sim::Drill& drill : drills_.drills)
            all.push_back(Value::Object{{"number", drill.number},
                                        {"title", drill.title},
                                        {"plant", drill.plant},
                                        {"minutes", drill.about.ns / proto::seconds(60).ns}});
        return replied(Value::Object{{"drills", std::move(all)}});
    }
    if (path == "/api/state") return replied(news(*trainee));
    if (path == "/api/results") return replied(own_results(*trainee));
    return refused(404, "no such page");
}

WebReply Trainer::answer_post(const WebRequest& request) {
    if (request.path == "/api/join") return join(request);
    if (request.path.starts_with("/api/instructor/"))
        return is_instructor(request) ? instruct(request) : refused(403, "the instructor's secret is missing or wrong");
    Trainee* trainee = trainee_of(request.session);
    if (trainee == nullptr) return refused(401, "join first");
    if (!same_secret(request.token, trainee->kept.token)) return refused(403, "the token is missing or wrong");
    is_here(*trainee);
    if (request.path == "/api/start") return start(*trainee, request);
    if (request.path == "/api/exam") return begin_exam(*trainee, request);
    if (request.path == "/api/next") return next_of_exam(*trainee);
    if (request.path == "/api/explain") return explain(*trainee, request);
    if (request.path == "/api/act") return act(*trainee, request);
    if (request.path == "/api/hold") return hold(*trainee, request);
    if (request.path == "/api/delete") return remove_own(*trainee, request);
    return refused(404, "no such act");
}

WebReply Trainer::join(const WebRequest& request) {
    std::string name = shortened(field_of(request.fields, "name"), name_bytes_max);
    std::erase_if(name, [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7F; });
    if (name.empty()) return refused(400, RefusalId("name-missing").id());
    std::string code = field_of(request.fields, "code");
    std::erase(code, ' ');
    if (settings_.code && !same_secret(code, *settings_.code)) return refused(403, RefusalId("code-wrong").id());
    const Instant now = surroundings_.now();
    if (trainees_.size() >= places)
        std::erase_if(trainees_, [&](const auto& one) {
            const bool left = !one.second.seen || now - one.second.last_seen > has_left_after;
            if (left) store_.forget(one.first);
            return left;
        });
    if (trainees_.size() >= places) return refused(503, RefusalId("room-full").id());
    Trainee trainee{.kept = {}, .last_seen = now, .exercises = {}, .explained = {}};
    trainee.kept.session = surroundings_.random();
    trainee.kept.token = surroundings_.random();
    trainee.kept.name = name;
    trainee.seen = true;
    trainee.order = ++joined_;
    trainee.pace = room_pace_;
    store_.keep(trainee.kept);
    WebReply reply = replied(Value::Object{{"joined", true}, {"name", name}, {"token", trainee.kept.token}});
    reply.session = trainee.kept.session;
    std::string session = trainee.kept.session;
    trainees_.emplace(std::move(session), std::move(trainee));
    return reply;
}

/// The next of the trainee's drills.
void Trainer::begin(Trainee& trainee) {
    const sim::Drill* const drill = drills_.find(trainee.kept.drills[trainee.exercises.size()]);
    const std::int64_t begun = surroundings_.epoch_ms() / 1000;
    trainee.exercises.push_back(
        std::make_unique<Exercise>(*drill, drills_.cards, trainee.kept.mode, surroundings_.now(), begun));
    trainee.kept.begun.push_back(begun);
    trainee.held = false;
    run_on(trainee, surroundings_.now());  // at the pace of the trainee, from the start
    store_.keep(trainee.kept);
}

WebReply Trainer::begin_drills(Trainee& trainee, ExerciseMode mode, std::vector<unsigned> drills) {
    const TrainingStore::Together together(store_);
    store_.forget_acts(trainee.kept.session);
    trainee.exercises.clear();
    trainee.explained.reset();
    trainee.kept.mode = mode;
    trainee.kept.drills = std::move(drills);
    trainee.kept.begun.clear();
    trainee.kept.results.clear();
    begin(trainee);
    return replied(news(trainee));
}

WebReply Trainer::start(Trainee& trainee, const WebRequest& request) {
    const auto number = number_of(request.fields, "drill");
    if (!number || drills_.find(*number) == nullptr) return refused(400, "no such drill");
    if (in_the_middle(trainee, request)) return refused(409, RefusalId("exam-under-way").id());
    return begin_drills(trainee, ExerciseMode::practice, {*number});
}

WebReply Trainer::begin_exam(Trainee& trainee, const WebRequest& request) {
    if (in_the_middle(trainee, request)) return refused(409, RefusalId("exam-under-way").id());
    std::vector<unsigned> drills = sim::exam_of(drills_, seed_from(surroundings_.random()));
    if (drills.empty()) return refused(409, RefusalId("no-drills").id());
    return begin_drills(trainee, ExerciseMode::exam, std::move(drills));
}

WebReply Trainer::next_of_exam(Trainee& trainee) {
    if (!trainee.in_exam() || trainee.exam_over() || trainee.current() == nullptr || !trainee.current()->over())
        return refused(409, "no drill of an exam is to be begun");
    begin(trainee);
    return replied(news(trainee));
}

WebReply Trainer::explain(Trainee& trainee, const WebRequest& request) {
    if (!trainee.exam_over()) return refused(409, "all is explained once the exam is over");
    const auto place = number_of(request.fields, "place");
    trainee.explained.reset();  // without a place: back to the list
    if (place && *place >= 1 && *place <= trainee.exercises.size()) trainee.explained = *place - 1;
    return replied(news(trainee));
}

WebReply Trainer::act(Trainee& trainee, const WebRequest& request) {
    Exercise* const exercise = trainee.current();
    if (exercise == nullptr) return refused(409, "no drill was begun");
    const bool was_over = exercise->over();
    const Instant at = exercise->bench().now();
    // only what an act can mean, so that nothing else is kept
    const ActFields fields = only(request.fields, {"act", "value", "where", "what", "because"});
    if (const auto refusal = exercise->act(fields)) return refused(refusal->status, refusal->why);
    // a drill is over together with its result, or not at all
    const TrainingStore::Together together(store_);
    store_.keep(trainee.kept.session, {trainee.exercises.size() - 1, at, fields});
    if (exercise->over() && !was_over) keep_result(trainee);
    return replied(news(trainee));
}

void Trainer::keep_result(Trainee& trainee) {
    const Exercise& exercise = *trainee.current();
    const sim::Answers& answers = exercise.answers();
    std::vector<std::string> dangerous;
    for (const sim::Reasoned& one : exercise.score()->dangerous) dangerous.push_back(one.id);
    const std::int64_t epoch_ms = surroundings_.epoch_ms();
    TrainingResult result{.when = local_time(epoch_ms),
                          .session = trainee.kept.session,
                          .name = trainee.kept.name,
                          .drill = exercise.drill().number,
                          .title = exercise.drill().title,
                          .mode = std::string(name_of(exercise.mode())),
                          .result = exercise.result(),
                          .points = exercise.score()->points(),
                          .seconds = exercise.took_s(),
                          .hints = exercise.hints(),
                          .where = answers.cannot_tell ? "cannot tell" : answers.where,
                          .what = answers.what,
                          .actions = join_list(answers.actions, " > "),
                          .dangerous = join_list(dangerous, ", "),
                          .record = on_one_line(exercise_record(exercise))};
    trainee.kept.results.push_back(store_.add(std::move(result)));
    store_.keep(trainee.kept);
}

Value Trainer::own_results(const Trainee& trainee) const {
    Value::List own;
    for (const TrainingResult& result : store_.all()) {
        if (result.session != trainee.kept.session) continue;
        const std::vector<std::int64_t>& of_exam = trainee.kept.results;
        const bool untold = trainee.in_exam() && !trainee.exam_over() &&
                            std::find(of_exam.begin(), of_exam.end(), result.id) != of_exam.end();
        if (!untold) own.push_back(described(result));
    }
    return Value::Object{{"results", std::move(own)}};
}

WebReply Trainer::hold(Trainee& trainee, const WebRequest& request) {
    trainee.held = field_of(request.fields, "on") == "true";
    run_on(trainee, surroundings_.now());
    return replied(news(trainee));
}

WebReply Trainer::remove_own(const Trainee& trainee, const WebRequest& request) {
    const auto id = number_of(request.fields, "id");
    const TrainingResult* const result = id ? store_.find(*id) : nullptr;
    if (result == nullptr || result->session != trainee.kept.session) return refused(404, "no such record");
    store_.remove(*id);
    return replied(own_results(trainee));
}

}  // namespace tools
