// Of the training's store: the chain of what it keeps.
#include <algorithm>

#include "tools/training/record_chain.hpp"
#include "tools/training/training_store.hpp"

namespace tools {

const ChainEntry& TrainingStore::link(std::string_view kind, std::string about, std::string content) {
    // after the last that was ever made: where some are missing at the end, that stays to be seen
    chain_.push_back(chained_after(chain_.empty() ? nullptr : &chain_.back(), ++entries_made_, kind, std::move(about),
                                   std::move(content)));
    const ChainEntry& entry = chain_.back();
    if (!keeps()) return entry;
    Database::Statement insert(*database_,
                               "INSERT INTO training_chain (number, kind, about, content, before, hash) VALUES "
                               "(?, ?, ?, ?, ?, ?)");
    insert.bind(1, entry.number);
    insert.bind(2, std::string_view(entry.kind));
    insert.bind(3, std::string_view(entry.about));
    insert.bind(4, std::string_view(entry.content));
    insert.bind(5, std::string_view(entry.before));
    insert.bind(6, std::string_view(entry.hash));
    insert.step();
    if (database_->problem() != DatabaseProblem::none) say();
    return entry;
}

template <class Record>
void TrainingStore::link(std::string_view kind, Record& record) {
    const ChainEntry& entry = link(kind, std::to_string(record.id), content_hash(record));
    record.hash = entry.hash;
    record.before = entry.before;
}
template void TrainingStore::link(std::string_view kind, TrainingResult& record);
template void TrainingStore::link(std::string_view kind, KeptExam& record);

void TrainingStore::read_chain() {
    Database::Statement read(*database_,
                             "SELECT number, kind, about, content, before, hash FROM training_chain ORDER BY number");
    while (read.step())
        chain_.push_back({read.number(0), read.text(1), read.text(2), read.text(3), read.text(4), read.text(5)});
    if (database_->problem() != DatabaseProblem::none) say();
    entries_made_ = database_->number("SELECT seq FROM sqlite_sequence WHERE name = 'training_chain'").value_or(0);
    if (!chain_.empty()) entries_made_ = std::max(entries_made_, chain_.back().number);
    const LatestEntries latest = latest_entries(chain_);
    const auto take = [](auto& records, const auto& entries) {
        for (auto& one : records)
            if (const auto found = entries.find(std::to_string(one.id)); found != entries.end()) {
                one.hash = found->second->hash;
                one.before = found->second->before;
            }
    };
    take(results_, latest.results);
    take(exams_, latest.exams);
    if (unchained_ && chain_.empty()) return;
    wrong_at_first_ = checked(chain_, entries_made_, results_, exams_).wrong;
}

/// What a file without a chain has, as it stands now. A chain that is there although its layout has none was not made
/// by this: it is left as it is.
void TrainingStore::chain_older() {
    if (!chain_.empty() || (results_.empty() && exams_.empty())) return;
    link(chained::taken_up, database_->text("SELECT strftime('%Y-%m-%d %H:%M', 'now', 'localtime')").value_or("?"), "");
    for (TrainingResult& one : results_) link(chained::older_result, one);
    for (KeptExam& one : exams_) link(chained::older_exam, one);
}

}  // namespace tools
