#include "tools/training/verify_records.hpp"

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <system_error>

#include "tools/text/text.hpp"
#include "tools/training/record_chain.hpp"

namespace tools {
namespace {

namespace fs = std::filesystem;
constexpr std::size_t digits_least = 16;

/// Digits as the chain has them; nothing if that is no hash, or too little of one.
std::optional<std::string> hash_typed(const std::string& typed) {
    std::string digits;
    for (const char letter : typed) {
        if (letter == ' ') continue;
        if (std::isxdigit(static_cast<unsigned char>(letter)) == 0) return std::nullopt;
        digits += static_cast<char>(std::tolower(static_cast<unsigned char>(letter)));
    }
    if (digits.size() < digits_least || digits.size() > 64) return std::nullopt;
    return digits;
}

/// A log beside it belongs to it: then it is opened as the program itself does, which fails while another has it, and
/// the log stays as it is.
Database opened(const std::string& file) {
    std::error_code error;
    const bool log = fs::exists(file + "-wal", error) && fs::file_size(file + "-wal", error) > 0;
    Database database(file, log ? Database::Access::write : Database::Access::read);
    if (log) database.keep_log_at_end(true);
    return database;
}

const ChainEntry* of_hash(const std::vector<ChainEntry>& chain, const std::string& digits) {
    const auto found =
        std::find_if(chain.begin(), chain.end(), [&](const ChainEntry& one) { return one.hash.starts_with(digits); });
    return found == chain.end() ? nullptr : &*found;
}

std::string of_entry(const ChainEntry& entry) {
    return "entry " + std::to_string(entry.number) + ", " + entry.kind + (entry.about.empty() ? "" : " ") + entry.about;
}

void say_printed(Page& page, const std::vector<ChainEntry>& chain, const ChainEntry* found) {
    if (found == nullptr) {
        page.paragraph("Printed    ",
                       "no entry of the chain has that hash: the file, or the paper, is not what it was");
        return;
    }
    std::string words = "is " + of_entry(*found);
    const ChainEntry* later = nullptr;
    const LatestEntries latest = latest_entries(chain);
    for (const auto* const all : {&latest.results, &latest.exams})
        if (const auto at = all->find(found->about);
            at != all->end() && at->second->number > found->number &&
            (at->second->kind.find("exam") == std::string::npos) == (found->kind.find("exam") == std::string::npos))
            later = at->second;
    if (later != nullptr) words += "; of the same record since then: " + of_entry(*later);
    page.paragraph("Printed    ", words);
}

Value described(const ChainCheck& check, const std::string& file) {
    return Value::Object{{"file", file},
                         {"holds", check.wrong.empty()},
                         {"wrong", Value::list_of(check.wrong)},
                         {"entries", check.entries},
                         {"results", check.results},
                         {"exams", check.exams},
                         {"deleted", check.deleted},
                         {"gone", check.gone},
                         {"older", check.older},
                         {"chained_since", check.since ? Value(*check.since) : Value()},
                         {"last_hash", Value::text_or_null(check.last)}};
}

}  // namespace

proto::Result<Finished, Failure> verify_records(const std::string& file, const std::optional<std::string>& printed,
                                                Columns columns) {
    const std::optional<std::string> digits = printed ? hash_typed(*printed) : std::nullopt;
    if (printed && !digits)
        return usage("--printed", "is no hash; type the four groups of four digits of the record, in quotes");
    std::error_code error;
    if (!fs::exists(file, error)) return Failure{Status::bad_input, file, 0, "", "is not there"};
    const TrainingStore store = TrainingStore::looked_at(file, opened(file));
    if (store.failure()) {
        Failure failure = *store.failure();
        return failure;
    }
    const ChainCheck check = checked(store.chain(), store.entries_made(), store.all(), store.exams());
    const ChainEntry* const found = digits ? of_hash(store.chain(), *digits) : nullptr;

    Finished out;
    out.status = check.wrong.empty() && (!digits || found != nullptr) ? Status::done : Status::not_met;
    out.page = Page(columns);
    const std::string kept =
        counted(check.results, "result", "results") + " and " + counted(check.exams, "exam", "exams");
    if (check.wrong.empty()) {
        out.page.headline("HOLDS", Hue::good, kept + " of " + file + " are as they were kept.");
    } else {
        out.page.headline("CHANGED", Hue::danger, "of " + file + " this does not hold:");
        for (const std::string& one : check.wrong) out.page.paragraph("  ", one);
    }
    out.page.paragraph("Chain      ", counted(check.entries, "entry", "entries") +
                                          "; deleted by the trainer: " + std::to_string(check.deleted) +
                                          ", with nothing left of them but a hash: " + std::to_string(check.gone));
    if (check.since)
        out.page.paragraph("Since      ",
                           *check.since + "; " + std::to_string(check.older) +
                               " records are older: what was changed in them before then nobody can tell");
    out.page.paragraph("Last hash  ", check.last.empty() ? "none" : short_hash(check.last));
    if (digits) say_printed(out.page, store.chain(), found);
    out.page.paragraph("Note       ",
                       "Whoever writes the file can reckon all hashes anew: only one on signed paper shows that. "
                       "Compare it by --printed.");
    out.document = described(check, file);
    if (digits) {
        Value::Object document = *out.document.object();
        document.push_back({"printed", found != nullptr ? Value(found->number) : Value()});
        out.document = std::move(document);
    }
    return out;
}

}  // namespace tools
