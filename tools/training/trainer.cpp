#include "tools/training/trainer.hpp"

#include <algorithm>
#include <ctime>
#include <utility>

#include "tools/text/json.hpp"

namespace tools {
namespace {

using proto::Instant;

constexpr proto::Duration nobody_looks_after = proto::seconds(3);  ///< so that nobody is judged on what was not seen

/// What is chosen and not yet handed in: the same in every window.
Value draft_of(const Trainee& trainee) {
    Value::Object draft;
    for (const auto& [key, value] : trainee.kept.draft) draft.push_back({key, value});
    return draft;
}

/// What an exam may ask for.
sim::DrillSet kept_promises(const sim::DrillSet& all, const TrainerSettings& settings) {
    sim::DrillSet kept = all;
    std::erase_if(kept.drills, [&](const sim::Drill& drill) { return settings.broken.contains(drill.number); });
    return kept;
}

}  // namespace

std::string local_time(std::int64_t epoch_ms) {
    const std::time_t at = epoch_ms / 1000;
    std::tm parts{};
    localtime_r(&at, &parts);
    char text[32];
    const std::size_t length = std::strftime(text, sizeof text, "%Y-%m-%d %H:%M", &parts);
    return {text, length};
}

WebReply refused(int status, std::string_view why) {
    return {.status = status, .body = to_json(Value::Object{{"error", why}})};
}
WebReply replied(const Value& value) { return {.body = to_json(value)}; }

Trainer::Trainer(sim::DrillSet drills, TrainerSettings settings, TrainingStore& store, TrainerSurroundings surroundings)
    : drills_(std::move(drills)),
      exam_drills_(kept_promises(drills_, settings)),
      settings_(std::move(settings)),
      store_(store),
      surroundings_(std::move(surroundings)),
      run_(surroundings_.random().substr(0, 8)) {
    take_up_again();
}

Trainee* Trainer::trainee_of(const std::string& session) {
    const auto found = trainees_.find(session);
    return found == trainees_.end() ? nullptr : &found->second;
}

void Trainer::run_on(Trainee& trainee, Instant now) {
    const bool waits = now - trainee.last_seen > nobody_looks_after;
    trainee.waits = waits;
    Exercise* const exercise = trainee.current();
    if (exercise == nullptr) return;
    const sim::Pace pace = waits || trainee.held ? sim::Pace::paused : trainee.pace;
    if (exercise->pace() != pace) exercise->set_pace(pace, now);
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

void Trainer::set_pace(Trainee& trainee, sim::Pace pace) {
    Exercise* const exercise = trainee.current();
    run_on(trainee, surroundings_.now());
    if (trainee.pace == pace) return;
    trainee.pace = pace;
    if (exercise != nullptr && !exercise->over()) {
        const ActFields fields{
            {"act", "pace"}, {"pace", std::string(name_of(pace))}, {"wall", local_time(surroundings_.epoch_ms())}};
        const proto::Instant at = exercise->bench().now();
        exercise->instruct(fields);
        store_.keep(trainee.kept.session, {trainee.exercises.size() - 1, at, fields});
    }
    run_on(trainee, surroundings_.now());
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
    if (Trainee* trainee = trainee_of(request.session)) {
        --trainee->windows;
        return;
    }
    const auto gone = given_away_.find(request.session);
    if (gone != given_away_.end() && --gone->second <= 0) given_away_.erase(gone);
}

std::optional<Value> Trainer::event(const WebRequest& request) {
    const std::lock_guard lock(mutex_);
    Trainee* trainee = trainee_of(request.session);
    // until the page has heard it and closes its stream
    if (trainee == nullptr)
        return given_away_.contains(request.session)
                   ? std::optional(Value(Value::Object{{"gone", RefusalId("place-given-away").id()}}))
                   : std::nullopt;
    is_here(*trainee);
    return news(*trainee);
}

Value Trainer::news(const Trainee& trainee) const {
    const Exercise* const shown = trainee.shown();
    const bool titled = !trainee.in_exam() || trainee.exam_over();
    const bool untold = shown != nullptr && shown->over() && held_back(trainee, shown->drill().number);
    return Value::Object{{"run", run_},
                         {"told_ms", surroundings_.epoch_ms()},
                         {"windows", trainee.windows},
                         {"paused", trainee.pace == sim::Pace::paused},
                         {"held", trainee.held},
                         {"exam", exam_news(trainee)},
                         {"draft", draft_of(trainee)},
                         {"held_back", untold},
                         {"state", shown != nullptr && !untold ? exercise_state(*shown, titled) : Value()}};
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
    if (path == "/api/drills") return replied(drills_offered(*trainee));
    if (path == "/api/state") return replied(news(*trainee));
    if (path == "/api/results") return replied(own_results(*trainee));
    if (path == "/api/record") return own_record(*trainee, request);
    return refused(404, "no such page");
}

/// Alike is what belongs to one family. A drill is done once it was found out in practice.
Value Trainer::drills_offered(const Trainee& trainee) const {
    Value::List all;
    for (const sim::Drill& drill : drills_.drills) {
        std::size_t tried = 0, found = 0;
        for (const TrainingResult& result : store_.all()) {
            if (result.person != trainee.kept.person || result.drill != drill.number || !may_be_told(trainee, result))
                continue;
            ++tried;
            if (result.result == sim::name_of(sim::DrillResult::safe_and_found)) ++found;
        }
        all.push_back(Value::Object{{"number", drill.number},
                                    {"title", drill.title},
                                    {"plant", drill.plant},
                                    {"family", std::string(1, drill.family)},
                                    {"alike", drill.look_alikes.size()},
                                    {"minutes", drill.about.ns / proto::seconds(60).ns},
                                    {"tried", tried},
                                    {"found", found},
                                    {"broken", settings_.broken.contains(drill.number)}});
    }
    return Value::Object{{"drills", std::move(all)}};
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
    if (request.path == "/api/draft") return keep_draft(*trainee, request);
    if (request.path == "/api/withdraw") return withdraw_own(*trainee, request);
    return refused(404, "no such act");
}

/// The next of the trainee's drills.
void Trainer::begin(Trainee& trainee) {
    const sim::Drill* const drill = drills_.find(trainee.kept.drills[trainee.exercises.size()]);
    const std::int64_t begun = surroundings_.epoch_ms() / 1000;
    trainee.exercises.push_back(exercise_of(trainee, *drill, begun));
    trainee.kept.begun.push_back(begun);
    trainee.kept.draft.clear();
    trainee.held = false;
    // at the pace of the trainee, from the start; that it is not the usual one is noted
    const sim::Pace pace = std::exchange(trainee.pace, sim::Pace::real);
    set_pace(trainee, pace);
    store_.keep(trainee.kept);
}

WebReply Trainer::begin_drills(Trainee& trainee, ExerciseMode mode, std::vector<unsigned> drills) {
    const TrainingStore::Together together(store_);
    abandon_exam(trainee, "left");
    store_.forget_acts(trainee.kept.session);
    trainee.exercises.clear();
    trainee.explained.reset();
    trainee.kept.mode = mode;
    trainee.kept.drills = std::move(drills);
    trainee.kept.begun.clear();
    trainee.kept.results.clear();
    trainee.kept.exam = 0;
    if (mode == ExerciseMode::exam) begin_exam_record(trainee);
    begin(trainee);
    return replied(news(trainee));
}

WebReply Trainer::start(Trainee& trainee, const WebRequest& request) {
    const auto number = number_of(request.fields, "drill");
    if (!number || drills_.find(*number) == nullptr) return refused(400, "no such drill");
    if (leaves_an_exam(trainee, request)) return refused(409, RefusalId("exam-under-way").id());
    return begin_drills(trainee, ExerciseMode::practice, {*number});
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
    const ActFields fields = only(request.fields, {"act", "value", "link", "where", "what", "because"});
    if (const auto refusal = exercise->act(fields)) return refused(refusal->status, refusal->why);
    // a drill is over together with its result, or not at all
    const TrainingStore::Together together(store_);
    store_.keep(trainee.kept.session, {trainee.exercises.size() - 1, at, fields});
    if (exercise->over() && !was_over) keep_result(trainee);
    return replied(news(trainee));
}

/// Chosen answers and cards, so that they outlive a reload and every window of the trainee shows the same.
WebReply Trainer::keep_draft(Trainee& trainee, const WebRequest& request) {
    constexpr std::size_t bytes_max = 400;
    for (const char* key : {"link", "where", "what", "because"}) {
        if (!request.fields.contains(key)) continue;
        const std::string value = field_of(request.fields, key);
        const bool fits = value.size() <= bytes_max && std::all_of(value.begin(), value.end(), [](char c) {
                              return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-' || c == ',';
                          });
        if (!fits) return refused(400, "no such choice");
        trainee.kept.draft[key] = value;
    }
    store_.keep(trainee.kept);
    return replied(news(trainee));
}

WebReply Trainer::hold(Trainee& trainee, const WebRequest& request) {
    trainee.held = field_of(request.fields, "on") == "true";
    run_on(trainee, surroundings_.now());
    return replied(news(trainee));
}

}  // namespace tools
