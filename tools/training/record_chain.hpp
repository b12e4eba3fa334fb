#pragma once
// The chain of a training's records: for everything that is kept, changed by right, or taken away, an entry with the
// hash of what then stands there and the hash of the entry before it. Whatever is changed, removed, put in or exchanged
// behind the program's back no longer fits. The chain is no signature: whoever writes the file may reckon all of it
// anew, and only a hash that stands on paper, signed, tells that from the truth.
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "tools/training/training_store.hpp"

namespace tools {

/// What an entry stands for.
namespace chained {
inline constexpr std::string_view taken_up = "taken-up";  ///< of a store that had no chain; about: the local time
inline constexpr std::string_view older_result = "older-result", older_exam = "older-exam";  ///< as found then
inline constexpr std::string_view result = "result", exam = "exam";
inline constexpr std::string_view withdrawn = "withdrawn", deleted = "deleted";  ///< of a result: what stands there now
inline constexpr std::string_view result_gone = "result-gone", exam_gone = "exam-gone";  ///< nothing stands there
}  // namespace chained

/// The hash of a result, or an exam, as it stands: of every field, so that no two contents are written alike. The
/// session in it is 128 bits of chance: with it deleted nobody can try out what stood there.
std::string content_hash(const TrainingResult& result);
std::string content_hash(const KeptExam& exam);
/// An entry of that number after `last`, or the first.
ChainEntry chained_after(const ChainEntry* last, std::int64_t number, std::string_view kind, std::string about,
                         std::string content);
/// The latest entry about each record, by its number.
struct LatestEntries {
    std::map<std::string, const ChainEntry*> results, exams;
};
LatestEntries latest_entries(const std::vector<ChainEntry>& chain);
/// The first four groups of four digits: what stands on paper. Nobody finds other content with the same 64 bits by
/// trying for less than some years of a large computer.
std::string short_hash(const std::string& hash);

/// What a look at a whole store found.
struct ChainCheck {
    std::vector<std::string> wrong;  ///< each in a line; none: all hold
    std::size_t entries = 0, results = 0, exams = 0;
    std::size_t deleted = 0, gone = 0;  ///< by the trainer: leaving that there was one, and leaving nothing but hashes
    std::size_t older = 0;              ///< records that are in the chain only since it was taken up
    std::optional<std::string> since;   ///< when it was taken up; nothing: from its first record on
    std::string last;                   ///< hash of the last entry; empty: none
};
/// `numbers_given`: of entries, by the file's own count; what was cut off at the end shows in it.
ChainCheck checked(const std::vector<ChainEntry>& chain, std::int64_t numbers_given,
                   const std::vector<TrainingResult>& results, const std::vector<KeptExam>& exams);

}  // namespace tools
