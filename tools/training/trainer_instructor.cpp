// The instructor's side of the trainer: who is here, and the hand on the benches.
#include <algorithm>

#include "tools/training/trainer.hpp"
#include "tools/training/training_records.hpp"

namespace tools {
namespace {

std::string id_of(const Trainee& trainee) { return person_id(trainee.kept.person); }

/// What changes the thing that is judged.
bool bears_on_result(const std::string& act) { return act == "put-in" || act == "take-out" || act == "cause"; }

}  // namespace

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

bool Trainer::is_instructor(const WebRequest& request) const {
    return request.local && same_secret(request.token, settings_.secret);
}

WebReply Trainer::tell_instructor(const WebRequest& request) {
    if (!is_instructor(request)) return refused(403, "the instructor's secret is missing or wrong");
    const std::string what = request.path.substr(std::string_view("/api/instructor/").size());
    if (what == "room") return replied(room());
    if (what == "results.csv")
        return {.type = "text/csv; charset=utf-8",
                .body = records_csv(store_.all(), store_.exams()),
                .download = "results.csv"};
    if (what == "results.json") {
        Value::List all, exams;
        for (const TrainingResult& result : store_.all()) all.push_back(described(result));
        for (const KeptExam& exam : store_.exams()) exams.push_back(described(exam));
        return replied(Value::Object{{"version", settings_.version},
                                     {"results", std::move(all)},
                                     {"exams", std::move(exams)},
                                     {"chain", chain_told(store_)},
                                     {"wrong", Value::list_of(store_.wrong_at_first())}});
    }
    if (what == "record") {
        const auto id = number_of(request.fields, "id");
        const TrainingResult* const result = id ? store_.find(*id) : nullptr;
        return result == nullptr ? refused(404, "no such record") : record(*result);
    }
    return refused(404, "no such page");
}

Value Trainer::room() const {
    Value::List rows;
    for (const Trainee* const one : in_order()) {
        const Trainee& trainee = *one;
        Value::Object row{
            {"id", id_of(trainee)}, {"name", trainee.kept.name}, {"away", trainee.waits || !trainee.seen}};
        if (trainee.in_exam()) {
            row.push_back({"exam_over", trainee.exam_over()});
            row.push_back({"exam_at", trainee.exercises.size()});
            row.push_back({"exam_of", trainee.kept.drills.size()});
        }
        if (const Exercise* const e = trainee.current()) {
            row.push_back({"drill", std::to_string(e->drill().number) + " " + e->drill().title});
            row.push_back({"over", e->over()});
            row.push_back({"step", e->step()});
            row.push_back({"seconds", e->took_s()});
            row.push_back({"last", e->log().empty() ? Value() : Value(e->log().back().what)});
            row.push_back({"about", e->log().empty() ? Value() : Value(e->log().back().about)});
            row.push_back({"dangerous", !e->answers().dangerous.empty()});
            row.push_back({"waits", e->warned().has_value()});
            row.push_back({"pace", name_of(trainee.pace)});
            row.push_back({"cause_shown", e->by_hand().cause_shown});
            row.push_back({"cause", e->drill().cause});
            row.push_back({"broken", Value::list_of(e->broken())});
            row.push_back({"trainer", touches_in_words(*e)});
        }
        rows.push_back(std::move(row));
    }
    const auto here = std::count_if(trainees_.begin(), trainees_.end(),
                                    [](const auto& one) { return one.second.seen && !one.second.waits; });
    Value::List broken;
    for (const auto& [number, why] : settings_.broken)
        broken.push_back(Value::Object{{"drill", number}, {"why", Value::list_of(why)}});
    return Value::Object{{"here", here},
                         {"taken", trainees_.size()},
                         {"broken_drills", std::move(broken)},
                         {"places", places},
                         {"code", settings_.code ? Value(*settings_.code) : Value()},
                         {"wrong_codes", wrong_codes_.count()},
                         {"wrong_code_from", Value::text_or_null(wrong_codes_.last_from())},
                         {"wrong_code_when", Value::text_or_null(wrong_codes_.last_when())},
                         {"address", address_},
                         {"problem", store_.failure() ? Value(store_.failure()->message) : Value()},
                         {"trainees", std::move(rows)}};
}

std::optional<Exercise::Refusal> Trainer::spared(const Trainee& trainee, const ActFields& fields, bool all) {
    if (!bears_on_result(field_of(fields, "act")) || !trainee.in_exam() || trainee.exam_over()) return std::nullopt;
    if (all) return Exercise::Refusal{409, RefusalId("all-in-exams").id()};
    if (field_of(fields, "confirm") == id_of(trainee)) return std::nullopt;
    return Exercise::Refusal{409, RefusalId("in-an-exam").id()};
}

bool Trainer::instruct_one(Trainee& trainee, const ActFields& fields, std::optional<Exercise::Refusal>& refusal) {
    Exercise* const exercise = trainee.current();
    if (exercise == nullptr) return false;
    run_on(trainee, surroundings_.now());
    const proto::Instant at = exercise->bench().now();
    ActFields noted = fields;
    noted["wall"] = local_time(surroundings_.epoch_ms());
    if (const auto no = exercise->instruct(noted)) {
        refusal = no;
        return false;
    }
    store_.keep(trainee.kept.session, {trainee.exercises.size() - 1, at, std::move(noted)});
    return true;
}

/// One, all, or all who have been away for so many minutes.
WebReply Trainer::free_places(const WebRequest& request) {
    const std::string who = field_of(request.fields, "who");
    const auto minutes = number_of(request.fields, "minutes");
    if (who == "away" && !minutes) return refused(400, "away for how many minutes?");
    const proto::Instant now = surroundings_.now();
    std::size_t touched = 0;
    for (auto it = trainees_.begin(); it != trainees_.end();) {
        const Trainee& trainee = it->second;
        const bool away = who == "away" && (!trainee.seen || now - trainee.last_seen >= proto::seconds(60) * *minutes);
        const bool meant = who == "all" || away || who == id_of(trainee);
        it = meant ? give_away(it) : std::next(it);
        touched += meant ? 1 : 0;
    }
    if (touched == 0 && who != "away") return refused(404, "nobody of that number is here");
    return replied(Value::Object{{"touched", touched}, {"left_out", 0}, {"refused", Value()}});
}

WebReply Trainer::instruct(const WebRequest& request) {
    const std::string act = request.path.substr(std::string_view("/api/instructor/").size());
    if (act == "delete") return delete_record(request);
    if (act == "delete-person") return delete_person(request);
    if (act == "free") return free_places(request);
    const std::string who = field_of(request.fields, "who");
    const auto pace = pace_of(field_of(request.fields, "pace"));
    if (act == "pace" && !pace) return refused(400, "no such pace");
    if (act == "pace" && who == "all") room_pace_ = *pace;
    ActFields fields =
        only(request.fields, {"way", "where", "lasting_ms", "when", "after_s", "show", "confirm", "free"});
    fields["act"] = act;
    std::size_t touched = 0, left_out = 0;
    std::optional<Exercise::Refusal> refusal;
    for (auto& [session, trainee] : trainees_) {
        if (who != "all" && who != id_of(trainee)) continue;
        if (act == "pace") {
            set_pace(trainee, *pace);
            ++touched;
            continue;
        }
        if (const auto no = spared(trainee, fields, who == "all")) {
            refusal = no;
            ++left_out;
            continue;
        }
        if (instruct_one(trainee, fields, refusal)) ++touched;
    }
    const bool only_left_out = refusal && refusal->why == RefusalId("all-in-exams").id();
    if (touched > 0 || (act == "pace" && who == "all"))
        return replied(Value::Object{{"touched", touched},
                                     {"left_out", left_out},
                                     {"refused", refusal && !only_left_out ? Value(refusal->why) : Value()}});
    return refusal ? refused(refusal->status, refusal->why) : refused(404, "nobody at a drill is meant");
}

/// By joining, so that nobody's row moves when others come.
std::vector<const Trainee*> Trainer::in_order() const {
    std::vector<const Trainee*> all;
    for (const auto& [session, trainee] : trainees_) all.push_back(&trainee);
    std::sort(all.begin(), all.end(),
              [](const Trainee* a, const Trainee* b) { return a->kept.person < b->kept.person; });
    return all;
}

}  // namespace tools
