#pragma once
// What is kept of a training, for programs and tables.
#include <string>
#include <vector>

#include "tools/training/training_store.hpp"

namespace tools {

/// Whether a result of that kind has points, and is a pass or a fail.
bool is_judged(const TrainingResult& result);
Value described(const TrainingResult& result);
Value described(const KeptExam& exam);
/// One line for each result and each exam, a head first; cells that a table program would run as a formula are made
/// text. Words stand beside identifiers.
std::string records_csv(const std::vector<TrainingResult>& results, const std::vector<KeptExam>& exams);
/// How the chain of records stands: how many entries, the last hash, whether all held when the file was opened,
/// and whether it is kept in one.
Value chain_told(const TrainingStore& store);
/// How a person's number is written: "P7"; "" where nobody is known.
std::string person_id(std::int64_t person);

}  // namespace tools
