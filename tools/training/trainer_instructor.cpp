// The instructor's side of the trainer: who is here, and the hand on the benches.
#include <algorithm>

#include "tools/text/json.hpp"
#include "tools/training/trainer.hpp"

namespace tools {
namespace {

constexpr std::size_t id_digits = 8;  ///< of the session, enough to tell trainees apart

std::string id_of(const Trainee& trainee) { return trainee.kept.session.substr(0, id_digits); }

std::string_view name_of(sim::Pace pace) {
    switch (pace) {
        case sim::Pace::paused: return "paused";
        case sim::Pace::quarter: return "quarter";
        case sim::Pace::real: return "real";
    }
    return "?";
}

std::optional<sim::Pace> pace_of(const std::string& name) {
    for (const sim::Pace pace : {sim::Pace::paused, sim::Pace::quarter, sim::Pace::real})
        if (name_of(pace) == name) return pace;
    return std::nullopt;
}

}  // namespace

bool Trainer::is_instructor(const WebRequest& request) const {
    return request.local && same_secret(request.token, settings_.secret);
}

WebReply Trainer::tell_instructor(const WebRequest& request) {
    if (!is_instructor(request)) return refused(403, "the instructor's secret is missing or wrong");
    const std::string what = request.path.substr(std::string_view("/api/instructor/").size());
    if (what == "room") return replied(room());
    if (what == "results.csv")
        return {.type = "text/csv; charset=utf-8", .body = results_csv(store_.all()), .download = "results.csv"};
    if (what == "results.json") {
        Value::List all;
        for (const TrainingResult& result : store_.all()) all.push_back(described(result));
        return replied(Value::Object{{"results", std::move(all)}});
    }
    if (what == "record") {
        const auto id = number_of(request.fields, "id");
        const TrainingResult* const result = id ? store_.find(*id) : nullptr;
        if (result == nullptr) return refused(404, "no such record");
        auto record = from_json(result->record);
        return replied(
            Value::Object{{"result", described(*result)}, {"record", record ? std::move(record).value() : Value()}});
    }
    return refused(404, "no such page");
}

Value Trainer::room() const {
    Value::List rows;
    for (const Trainee* const one : in_order()) {
        const Trainee& trainee = *one;
        Value::Object row{{"id", id_of(trainee)}, {"name", trainee.kept.name}, {"away", trainee.waits}};
        if (trainee.in_exam()) {
            row.push_back({"exam_at", trainee.exercises.size()});
            row.push_back({"exam_of", trainee.kept.drills.size()});
        }
        if (const Exercise* const e = trainee.current()) {
            row.push_back({"drill", std::to_string(e->drill().number) + " " + e->drill().title});
            row.push_back({"step", e->step()});
            row.push_back({"seconds", e->took_s()});
            row.push_back({"last", e->log().empty() ? Value() : Value(e->log().back().what)});
            row.push_back({"about", e->log().empty() ? Value() : Value(e->log().back().about)});
            row.push_back({"dangerous", !e->answers().dangerous.empty()});
            row.push_back({"waits", e->warned().has_value()});
            row.push_back({"pace", name_of(trainee.pace)});
            row.push_back({"cause_shown", e->cause_shown()});
            row.push_back({"cause", e->drill().cause});
            row.push_back({"broken", Value::list_of(e->broken())});
        }
        rows.push_back(std::move(row));
    }
    return Value::Object{{"here", trainees_.size()},
                         {"places", places},
                         {"code", settings_.code ? Value(*settings_.code) : Value()},
                         {"address", address_},
                         {"problem", store_.failure() ? Value(store_.failure()->message) : Value()},
                         {"trainees", std::move(rows)}};
}

WebReply Trainer::delete_record(const WebRequest& request) {
    const auto id = number_of(request.fields, "id");
    return id && store_.remove(*id) ? replied(Value::Object{{"deleted", *id}}) : refused(404, "no such record");
}

bool Trainer::instruct_one(Trainee& trainee, const ActFields& fields, std::optional<Exercise::Refusal>& refusal) {
    Exercise* const exercise = trainee.current();
    if (exercise == nullptr) return false;
    run_on(trainee, surroundings_.now());
    const proto::Instant at = exercise->bench().now();
    if (const auto no = exercise->instruct(fields)) {
        refusal = no;
        return false;
    }
    store_.keep(trainee.kept.session, {trainee.exercises.size() - 1, at, fields});
    return true;
}

WebReply Trainer::instruct(const WebRequest& request) {
    const std::string act = request.path.substr(std::string_view("/api/instructor/").size());
    if (act == "delete") return delete_record(request);
    const std::string who = field_of(request.fields, "who");
    const auto pace = pace_of(field_of(request.fields, "pace"));
    if (act == "pace" && !pace) return refused(400, "no such pace");
    if (act == "pace" && who == "all") room_pace_ = *pace;
    ActFields fields = only(request.fields, {"way", "where", "lasting_ms", "when", "after_s", "show"});
    fields["act"] = act;
    std::size_t touched = 0;
    std::optional<Exercise::Refusal> refusal;
    for (auto it = trainees_.begin(); it != trainees_.end();) {
        Trainee& trainee = it->second;
        const bool meant = who == "all" || who == id_of(trainee);
        if (meant && act == "free") {
            store_.forget(trainee.kept.session);
            it = trainees_.erase(it);
            ++touched;
            continue;
        }
        ++it;
        if (meant && act == "pace") {
            trainee.pace = *pace;
            run_on(trainee, surroundings_.now());
            ++touched;
            continue;
        }
        if (meant && instruct_one(trainee, fields, refusal)) ++touched;
    }
    if (touched > 0 || (act == "pace" && who == "all"))
        return replied(Value::Object{{"touched", touched}, {"refused", refusal ? Value(refusal->why) : Value()}});
    return refusal ? refused(refusal->status, refusal->why) : refused(404, "nobody at a drill is meant");
}

/// By joining, so that nobody's row moves when others come.
std::vector<const Trainee*> Trainer::in_order() const {
    std::vector<const Trainee*> all;
    for (const auto& [session, trainee] : trainees_) all.push_back(&trainee);
    std::sort(all.begin(), all.end(), [](const Trainee* a, const Trainee* b) { return a->order < b->order; });
    return all;
}

}  // namespace tools
