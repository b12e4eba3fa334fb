// Of the trainer: who joins, whose place is given away, and who is there again after a restart of the program.
#include <algorithm>

#include "tools/training/trainee_name.hpp"
#include "tools/training/trainer.hpp"

namespace tools {
namespace {

using proto::Instant;

constexpr proto::Duration has_left_after = proto::seconds(3600);

/// At most so many bytes, cut between characters of UTF-8.
std::string shortened(std::string text, std::size_t bytes) {
    if (text.size() <= bytes) return text;
    while (bytes > 0 && (static_cast<unsigned char>(text[bytes]) & 0xC0) == 0x80) --bytes;
    return text.substr(0, bytes);
}

/// A code as it was printed, however it is typed: small letters, blanks and hyphens are nobody's fault.
std::string code_typed(const std::string& text) {
    std::string code;
    for (const char c : text) {
        if (c == ' ' || c == '-') continue;
        code += c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
    }
    return code;
}

}  // namespace

void Trainer::take_up_again() {
    const Instant now = surroundings_.now();
    for (KeptSession& kept : store_.sessions()) take_up_again(std::move(kept), now);
    // of those whose place is not kept any more
    for (const KeptExam& kept : std::vector(store_.exams())) {
        const Trainee* const trainee = trainee_of(kept.session);
        if (kept.state != KeptExam::State::under_way || (trainee != nullptr && trainee->kept.exam == kept.id)) continue;
        KeptExam exam = kept;
        exam.state = KeptExam::State::abandoned;
        exam.why = ExamEndId("not-taken-up").id();
        store_.keep(exam);
    }
}

void Trainer::take_up_again(KeptSession kept, Instant now) {
    Trainee trainee{.kept = std::move(kept), .last_seen = now, .exercises = {}, .explained = {}, .from = ""};
    KeptSession& own = trainee.kept;
    const bool known = std::all_of(own.drills.begin(), own.drills.end(),
                                   [&](unsigned number) { return drills_.find(number) != nullptr; });
    if (!known || own.begun.size() > own.drills.size() || own.begun.empty() != own.drills.empty()) {
        abandon_exam(trainee, "drills-changed");
        store_.forget_acts(own.session);
        own.drills.clear();
        own.begun.clear();
        own.exam = 0;
    }
    const std::vector<KeptAct> acts = store_.acts(own.session);
    for (std::size_t i = 0; i < own.begun.size(); ++i) {
        trainee.exercises.push_back(exercise_of(trainee, *drills_.find(own.drills[i]), own.begun[i]));
        for (const KeptAct& act : acts)
            if (act.drill == i) trainee.exercises.back()->repeat(act.at, act.fields, now);
    }
    // as the instructor wanted it last
    if (const Exercise* const exercise = trainee.current(); exercise != nullptr && !exercise->over())
        for (const Touch& touch : exercise->by_hand().touches)
            trainee.pace = pace_of(touch.what).value_or(trainee.pace);
    const bool without_record = trainee.in_exam() && own.exam == 0;  // of an older layout
    std::string session = own.session;
    Trainee& there = trainees_.emplace(std::move(session), std::move(trainee)).first->second;
    if (without_record) begin_exam_record(there);
}

Trainer::Trainees::iterator Trainer::give_away(Trainees::iterator place) {
    const Trainee& trainee = place->second;
    {
        const TrainingStore::Together together(store_);
        abandon_exam(trainee, "place-given-away");
        store_.forget(place->first);
    }
    // a name of which nothing is kept is not kept either
    const auto is_theirs = [&](const auto& one) { return one.person == trainee.kept.person; };
    if (std::none_of(store_.all().begin(), store_.all().end(), is_theirs) &&
        std::none_of(store_.exams().begin(), store_.exams().end(), is_theirs))
        store_.forget_person(trainee.kept.person);
    if (trainee.windows > 0) given_away_[place->first] = trainee.windows;
    return trainees_.erase(place);
}

std::optional<WebReply> Trainer::code_refused(const WebRequest& request) {
    if (!settings_.code) return std::nullopt;
    const Instant now = surroundings_.now();
    if (wrong_codes_.too_soon(request.from, now)) return refused(429, RefusalId("code-too-soon").id());
    if (same_secret(code_typed(field_of(request.fields, "code")), *settings_.code)) return std::nullopt;
    wrong_codes_.note(request.from, now, local_time(surroundings_.epoch_ms()));
    return refused(403, RefusalId("code-wrong").id());
}

WebReply Trainer::join(const WebRequest& request) {
    if (trainee_of(request.session) != nullptr) return refused(409, RefusalId("joined-already").id());
    if (const auto no = code_refused(request)) return *no;
    const auto typed = name_typed(field_of(request.fields, "name"));
    if (!typed) return refused(400, RefusalId("name-unfit").id());
    const std::string name = shortened(*typed, name_bytes_max);
    if (name.empty()) return refused(400, RefusalId("name-missing").id());
    const std::string from = request.local ? "" : request.from;
    const auto of_address = [&](const auto& one) { return one.second.from == from; };
    if (!from.empty() &&
        std::count_if(trainees_.begin(), trainees_.end(), of_address) >= std::int64_t{places_of_address})
        return refused(429, RefusalId("address-full").id());
    const Instant now = surroundings_.now();
    for (auto it = trainees_.begin(); trainees_.size() >= places && it != trainees_.end();) {
        const bool left = !it->second.seen || now - it->second.last_seen > has_left_after;
        it = left ? give_away(it) : std::next(it);
    }
    if (trainees_.size() >= places) return refused(503, RefusalId("room-full").id());
    Trainee trainee{.kept = {}, .last_seen = now, .exercises = {}, .explained = {}, .from = from};
    trainee.kept.session = surroundings_.random();
    trainee.kept.token = surroundings_.random();
    trainee.seen = true;
    trainee.pace = room_pace_;
    const TrainingStore::Together together(store_);
    const KeptPerson person = store_.join(trainee.kept.session, name);
    trainee.kept.person = person.id;
    trainee.kept.name = person.called;
    store_.keep(trainee.kept);
    WebReply reply = replied(Value::Object{{"joined", true}, {"name", person.called}, {"token", trainee.kept.token}});
    reply.session = trainee.kept.session;
    std::string session = trainee.kept.session;
    trainees_.emplace(std::move(session), std::move(trainee));
    return reply;
}

}  // namespace tools
