#include "tools/training/record_chain.hpp"

#include <algorithm>
#include <initializer_list>
#include <map>

#include "tools/text/sha256.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

const std::string before_the_first(64, '0');

/// Each field with its length, so that none can borrow letters from the next.
class Written {
  public:
    explicit Written(std::string_view what) { text(what); }
    void text(std::string_view value) {
        bytes_ += std::to_string(value.size());
        bytes_ += ':';
        bytes_ += value;
        bytes_ += ',';
    }
    void number(std::int64_t value) { text(std::to_string(value)); }
    [[nodiscard]] std::string hash() const { return sha256_hex(bytes_); }

  private:
    std::string bytes_;
};

std::string hash_of(const ChainEntry& entry) {
    Written written("linkdrill chain 1");
    written.number(entry.number);
    for (const std::string* const one : {&entry.kind, &entry.about, &entry.content, &entry.before}) written.text(*one);
    return written.hash();
}

bool is_of_result(const ChainEntry& entry) {
    return entry.kind == chained::result || entry.kind == chained::older_result || entry.kind == chained::withdrawn ||
           entry.kind == chained::deleted || entry.kind == chained::result_gone;
}
bool is_of_exam(const ChainEntry& entry) {
    return entry.kind == chained::exam || entry.kind == chained::older_exam || entry.kind == chained::exam_gone;
}

std::string named(const char* what, const ChainEntry& entry) {
    return std::string(what) + " " + entry.about + " (entry " + std::to_string(entry.number) + " of the chain)";
}

std::string called(const TrainingResult& one) {
    return "result " + std::to_string(one.id) + " (" + on_one_line(one.name) + ", drill " + std::to_string(one.drill) +
           ", " + on_one_line(one.when) + ")";
}
std::string called(const KeptExam& one) {
    return "exam " + std::to_string(one.id) + " (" + on_one_line(one.name) + ", " + on_one_line(one.begun) + ")";
}

template <class Record>
void compare(const std::vector<Record>& records, std::map<std::string, const ChainEntry*> told, const char* what,
             ChainCheck& check) {
    for (const Record& one : records) {
        const auto found = told.find(std::to_string(one.id));
        if (found == told.end()) {
            check.wrong.push_back(called(one) + " is not in the chain: it was put in");
            continue;
        }
        const ChainEntry& entry = *found->second;
        if (entry.content.empty()) {
            check.wrong.push_back(called(one) + " was deleted by entry " + std::to_string(entry.number) +
                                  " of the chain, and is there: it was put in");
        } else if (content_hash(one) != entry.content) {
            check.wrong.push_back(called(one) + " is not as entry " + std::to_string(entry.number) +
                                  " of the chain has it: it was changed");
        }
        told.erase(found);
    }
    for (const auto& [id, entry] : told)
        if (!entry->content.empty()) check.wrong.push_back(named(what, *entry) + " is not there: it was removed");
}

}  // namespace

std::string content_hash(const TrainingResult& r) {
    Written written("linkdrill result 1");
    for (const std::int64_t one : {r.id, r.drill, r.points, r.seconds, r.hints, r.person, r.exam}) written.number(one);
    for (const std::string* const one :
         {&r.when, &r.session, &r.name, &r.title, &r.mode, &r.result, &r.where, &r.what, &r.actions, &r.dangerous,
          &r.record, &r.trainer, &r.version, &r.actions_said, &r.dangerous_said, &r.withdrawn, &r.deleted})
        written.text(*one);
    return written.hash();
}

std::string content_hash(const KeptExam& e) {
    Written written("linkdrill exam 1");
    for (const std::int64_t one : {e.id, e.person, e.drills, e.done, e.judged, static_cast<std::int64_t>(e.state)})
        written.number(one);
    for (const std::string* const one : {&e.session, &e.name, &e.begun, &e.ended, &e.why, &e.verdict, &e.trainer})
        written.text(*one);
    return written.hash();
}

ChainEntry chained_after(const ChainEntry* last, std::int64_t number, std::string_view kind, std::string about,
                         std::string content) {
    ChainEntry entry{.number = number,
                     .kind = std::string(kind),
                     .about = std::move(about),
                     .content = std::move(content),
                     .before = last == nullptr ? before_the_first : last->hash,
                     .hash = ""};
    entry.hash = hash_of(entry);
    return entry;
}

LatestEntries latest_entries(const std::vector<ChainEntry>& chain) {
    LatestEntries latest;
    for (const ChainEntry& entry : chain) {
        if (is_of_result(entry)) latest.results[entry.about] = &entry;
        if (is_of_exam(entry)) latest.exams[entry.about] = &entry;
    }
    return latest;
}

std::string short_hash(const std::string& hash) {
    std::string text;
    for (std::size_t at = 0; at + 4 <= std::min<std::size_t>(16, hash.size()); at += 4)
        text += (at == 0 ? "" : " ") + hash.substr(at, 4);
    return text;
}

ChainCheck checked(const std::vector<ChainEntry>& chain, std::int64_t numbers_given,
                   const std::vector<TrainingResult>& results, const std::vector<KeptExam>& exams) {
    ChainCheck check;
    std::int64_t expected = 1;
    const std::string* before = &before_the_first;
    for (const ChainEntry& entry : chain) {
        const std::string name = "entry " + std::to_string(entry.number) + " of the chain";
        if (entry.number > expected)
            check.wrong.push_back("of the chain " + std::to_string(entry.number - expected) +
                                  " entries before number " + std::to_string(entry.number) +
                                  " are not there: they were removed");
        else if (entry.before != *before)
            check.wrong.push_back(name + " does not follow the one before it: one of the two was changed or exchanged");
        if (hash_of(entry) != entry.hash) check.wrong.push_back(name + " was changed: its hash is another");
        if (entry.kind == chained::taken_up) check.since = entry.about;
        check.older += entry.kind == chained::older_result || entry.kind == chained::older_exam ? 1U : 0U;
        check.deleted += entry.kind == chained::deleted ? 1U : 0U;
        check.gone += entry.kind == chained::result_gone || entry.kind == chained::exam_gone ? 1U : 0U;
        expected = entry.number + 1;
        before = &entry.hash;
    }
    if (numbers_given >= expected)
        check.wrong.push_back("the end of the chain is not there: " + std::to_string(numbers_given) +
                              " entries were made, the last that is there is " + std::to_string(expected - 1));
    LatestEntries told = latest_entries(chain);
    compare(results, std::move(told.results), "result", check);
    compare(exams, std::move(told.exams), "exam", check);
    check.entries = chain.size();
    check.results = results.size();
    check.exams = exams.size();
    if (!chain.empty()) check.last = chain.back().hash;
    return check;
}

}  // namespace tools
