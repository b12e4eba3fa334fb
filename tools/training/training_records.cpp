#include "tools/training/training_records.hpp"

#include <algorithm>
#include <array>

#include "tools/text/csv.hpp"
#include "tools/training/record_chain.hpp"
#include "tools/training/vocabulary_records.hpp"

namespace tools {
namespace {

/// "" stays "": there is nothing to be called.
std::string said(std::string_view list, const std::string& id) { return id.empty() ? "" : word_of(list, id); }

/// 0 stands for none.
Value number_or_null(std::int64_t number) { return number == 0 ? Value() : Value(number); }

/// The columns of the table, in their order; what a row does not have stays empty.
constexpr std::array columns{
    "row",     "id",           "when",    "ended",       "person",   "name",         "exam",      "drill",
    "title",   "mode",         "result",  "result_said", "judged",   "points",       "seconds",   "hints",
    "where",   "where_said",   "what",    "what_said",   "actions",  "actions_said", "dangerous", "dangerous_said",
    "trainer", "withdrawn",    "deleted", "exam_state",  "exam_end", "exam_drills",  "exam_done", "exam_judged",
    "verdict", "verdict_said", "version", "hash",        "before"};

Value row_of(const char* kind, const Value& described) {
    Value::Object row;
    for (const char* column : columns) {
        const Value* const found = described.find(column);
        row.push_back({column, std::string_view(column) == "row" ? Value(kind) : found != nullptr ? *found : Value()});
    }
    return row;
}

}  // namespace

std::string person_id(std::int64_t person) { return person == 0 ? "" : "P" + std::to_string(person); }

bool is_judged(const TrainingResult& result) {
    return result.deleted.empty() && result.result != "drill-broken" &&
           std::none_of(unjudged_words.begin(), unjudged_words.end(),
                        [&](const Word& word) { return word.id == result.result; });
}

Value described(const TrainingResult& r) {
    const bool hidden = r.result == "dangerous-action" || !is_judged(r);
    const std::string where = r.where == "cannot tell" ? word_of("acts", "cannot-tell") : said("where", r.where);
    return Value::Object{{"id", r.id},
                         {"when", r.when},
                         {"person", Value::text_or_null(person_id(r.person))},
                         {"name", r.name},
                         {"exam", number_or_null(r.exam)},
                         {"drill", r.drill},
                         {"title", r.title},
                         {"mode", r.mode},
                         {"result", r.result},
                         {"result_said", said("results", r.result)},
                         {"judged", is_judged(r)},
                         {"points", hidden ? Value() : Value(r.points)},
                         {"seconds", r.seconds},
                         {"hints", r.hints},
                         {"where", r.where},
                         {"where_said", where},
                         {"what", r.what},
                         {"what_said", said("what", r.what)},
                         {"actions", r.actions},
                         {"actions_said", r.actions_said},
                         {"dangerous", r.dangerous},
                         {"dangerous_said", r.dangerous_said},
                         {"trainer", r.trainer},
                         {"withdrawn", Value::text_or_null(r.withdrawn)},
                         {"deleted", Value::text_or_null(r.deleted)},
                         {"version", Value::text_or_null(r.version)},
                         {"hash", Value::text_or_null(r.hash)},
                         {"before", Value::text_or_null(r.before)}};
}

Value described(const KeptExam& e) {
    const std::string state(name_of(e.state));
    return Value::Object{{"id", e.id},
                         {"exam", e.id},
                         {"when", e.begun},
                         {"ended", Value::text_or_null(e.ended)},
                         {"person", Value::text_or_null(person_id(e.person))},
                         {"name", e.name},
                         {"mode", "exam"},
                         {"exam_state", state},
                         {"exam_end", Value::text_or_null(said("exam_ends", e.why))},
                         {"exam_drills", e.drills},
                         {"exam_done", e.done},
                         {"exam_judged", e.judged},
                         {"verdict", Value::text_or_null(e.verdict)},
                         {"verdict_said", Value::text_or_null(said("exam", e.verdict))},
                         {"trainer", e.trainer},
                         {"hash", Value::text_or_null(e.hash)},
                         {"before", Value::text_or_null(e.before)}};
}

Value chain_told(const TrainingStore& store) {
    const std::vector<ChainEntry>& chain = store.chain();
    const bool older = !chain.empty() && chain.front().kind == chained::taken_up;
    return Value::Object{{"entries", chain.size()},
                         {"last", chain.empty() ? Value() : Value(chain.back().hash)},
                         {"since", older ? Value(chain.front().about) : Value()},
                         {"holds", store.wrong_at_first().empty()},
                         {"kept", store.keeps()}};
}

std::string records_csv(const std::vector<TrainingResult>& results, const std::vector<KeptExam>& exams) {
    Value::List rows;
    for (const TrainingResult& result : results) rows.push_back(row_of("result", described(result)));
    for (const KeptExam& exam : exams) rows.push_back(row_of("exam", described(exam)));
    return to_csv(rows, row_of("", Value()));
}

}  // namespace tools
