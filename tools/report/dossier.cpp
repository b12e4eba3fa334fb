#include "tools/report/dossier.hpp"

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <optional>
#include <utility>

#include "proto/contract.hpp"
#include "tools/pages/embedded.hpp"
#include "tools/report/cell_dossier.hpp"
#include "tools/report/fits_schema.hpp"
#include "tools/text/json.hpp"
#include "tools/text/look_up.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

namespace fs = std::filesystem;

/// Documents over this size are refused unread: linkdrill writes none that is a tenth as large.
constexpr std::uintmax_t document_bytes_max = 64'000'000;

struct Known {
    const char* file;
    Value Dossier::*place;
    const char* command;  ///< that leaves it
    const EmbeddedFile* schema;
};
constexpr Known known[] = {
    {"result.json", &Dossier::result, "run", &result_schema},
    {"plant.json", &Dossier::plant, "run", &plant_schema},
    {"acceptance.json", &Dossier::acceptance, "run", &acceptance_schema},
    {"timeline.json", &Dossier::time_line, "run", &timeline_schema},
    {"response.json", &Dossier::response, "response", &response_schema},
    {"watchdog.json", &Dossier::watchdog, "watchdog", &watchdog_schema},
    {"residual.json", &Dossier::residual, "residual", &residual_schema},
    {"measures.json", &Dossier::measures, "measures", &measures_schema},
    {"link_residual.json", &Dossier::link_residual, "residual", &link_residual_schema},
    {"campaign.json", &Dossier::campaign, "campaign", &campaign_schema},
    {"endurance.json", &Dossier::endurance, "endurance", &endurance_schema},
};

Failure in_folder(const std::string& folder, std::string message) {
    return {Status::bad_input, folder, 0, {}, std::move(message)};
}

/// What must be the same in every document that has it.
struct Common {
    const char* key;
    const char* in_words;
};
constexpr Common common[] = {{"scenario", "scenario"},
                             {"scenario_fingerprint", "scenario's content (its file was changed in between)"},
                             {"version", "linkdrill version"},
                             {"seed", "seed"}};

/// Of a telegram's profile, which many scenarios may share: their seeds are their own.
bool of_profile(const Known& one) { return one.place == &Dossier::residual || one.place == &Dossier::measures; }

std::optional<Failure> differing(const std::string& folder, const Dossier& dossier, const Known& one) {
    const Value& document = dossier.*one.place;
    for (const Common& what : common) {
        if (of_profile(one) && what.key == std::string_view("seed")) continue;
        const Value &here = look_up(document, what.key), &there = look_up(dossier.result, what.key);
        if (is_null(here) || is_null(there) || scalar_text(here) == scalar_text(there)) continue;
        return in_folder(folder, std::string(one.file) + " and result.json differ in the " + what.in_words + ": " +
                                     in_quotes(scalar_text(here)) + " and " + in_quotes(scalar_text(there)) +
                                     "; they are not mixed. Run linkdrill " + one.command +
                                     " again with the same --out, or remove " + one.file);
    }
    return std::nullopt;
}

/// A telegram stands in scenarios by its profile's identity, or by its name where a document has no more.
std::optional<Failure> other_telegram(const std::string& folder, const Dossier& dossier) {
    const auto refused = [&](const std::string& command, const std::string& theirs) {
        return in_folder(folder, command + ".json is of the telegram " + in_quotes(theirs) + ", the scenario uses " +
                                     in_quotes(look_up_text(dossier.plant, "profile", "name")) + "; run linkdrill " +
                                     command + " with that profile, or remove " + command + ".json");
    };
    const std::string theirs = look_up_text(dossier.residual, "profile_identity");
    if (!theirs.empty() && theirs != look_up_text(dossier.plant, "profile", "identity"))
        return refused("residual", look_up_text(dossier.residual, "name"));
    const std::string measured = look_up_text(dossier.measures, "profile");
    if (!measured.empty() && measured != look_up_text(dossier.plant, "profile", "name"))
        return refused("measures", measured);
    return std::nullopt;
}

void note_cautions(Dossier& dossier) {
    const auto bits = look_up_number(dossier.residual, "data_bits");
    const auto ours = look_up_number(dossier.plant, "profile", "protected_bits");
    if (bits && ours && *bits != *ours)
        dossier.cautions.push_back("The residual error is that of a telegram with " +
                                   scalar_text(look_up(dossier.residual, "data_bits")) +
                                   " protected bits; the scenario's has " +
                                   scalar_text(look_up(dossier.plant, "profile", "protected_bits")) + ".");
    for (const Known& one : known) {
        const Value& document = dossier.*one.place;
        if (!is_null(document) && !of_profile(one) && is_null(look_up(document, "scenario_fingerprint")))
            dossier.cautions.push_back(std::string(one.file) +
                                       " does not say which content of the scenario's file it is of.");
    }
}

/// What is in the files, put in its places.
proto::Result<Dossier, Failure> gather(const std::string& folder, const std::vector<EvidenceFile>& files) {
    Dossier dossier;
    for (const Known& one : known)
        for (const EvidenceFile& file : files) {
            if (file.name != one.file) continue;
            const auto read = from_json(file.content);
            if (!read) return in_folder(folder + "/" + file.name, read.error() + "; run its command again");
            if (read.value().object() == nullptr)
                return in_folder(folder + "/" + file.name, "is no document of linkdrill; run its command again");
            dossier.*one.place = read.value();
            dossier.files.push_back(file.name);
        }
    return dossier;
}

/// Each value that may be looked up later is one that the command could have written.
std::optional<Failure> misfitting(const std::string& folder, const Dossier& dossier) {
    for (const Known& one : known) {
        const Value& document = dossier.*one.place;
        if (is_null(document)) continue;
        const auto schema = from_json(one.schema->content);
        proto::require(schema.ok(), "a schema that is built in cannot be read");
        if (const auto wrong = misfit(document, schema.value()))
            return Failure{Status::bad_input, folder + "/" + one.file, 0, wrong->key,
                           wrong->why + "; run linkdrill " + one.command + " again with the same --out"};
    }
    return std::nullopt;
}

/// Whether they are of one scenario.
proto::Result<Dossier, Failure> matched(const std::string& folder, Dossier dossier) {
    if (is_null(dossier.result) || is_null(dossier.plant))
        return in_folder(folder, "holds no " + std::string(is_null(dossier.result) ? "result.json" : "plant.json") +
                                     "; first linkdrill run FILE --out " + folder);
    for (const Known& one : known)
        if (auto failure = differing(folder, dossier, one)) return *failure;
    if (auto failure = other_telegram(folder, dossier)) return *failure;
    note_cautions(dossier);
    return dossier;
}

/// Nothing happens where there is no such file.
std::optional<Failure> read_into(std::vector<EvidenceFile>& files, const fs::path& path) {
    std::error_code error;
    if (!fs::exists(path, error)) return std::nullopt;
    if (fs::file_size(path, error) > document_bytes_max || error)
        return in_folder(path.string(), "is no file, or over 64 MB; linkdrill did not write it");
    errno = 0;
    std::ifstream file(path, std::ios::binary);
    if (!file) return machine_said_no(path.string(), std::strerror(errno));
    files.push_back({path.filename().string(), {std::istreambuf_iterator<char>(file), {}}});
    if (file.bad()) return machine_said_no(path.string(), "could not be read to its end");
    return std::nullopt;
}

}  // namespace

proto::Result<Dossier, Failure> dossier_of(const std::string& folder, const std::vector<EvidenceFile>& files) {
    if (is_of_cell(files)) return cell_dossier_of(folder, files, Looked::trusted);
    auto gathered = gather(folder, files);
    return gathered ? matched(folder, std::move(gathered).value()) : gathered;
}

proto::Result<Dossier, Failure> read_dossier(const std::string& folder) {
    std::error_code error;
    if (!fs::exists(folder, error)) return in_folder(folder, "no such folder; name one that linkdrill run --out made");
    if (!fs::is_directory(folder, error)) return in_folder(folder, "is no folder; name the one with the results");
    std::vector<EvidenceFile> files;
    for (const Known& one : known)
        if (auto failure = read_into(files, fs::path(folder) / one.file)) return *failure;
    if (is_of_cell(files)) {
        files.clear();
        for (const fs::directory_entry& entry : fs::directory_iterator(folder, error))
            if (may_be_of_cell(entry.path().filename().string()))
                if (auto failure = read_into(files, entry.path())) return *failure;
        return cell_dossier_of(folder, files, Looked::by_schema);
    }
    auto gathered = gather(folder, files);
    if (!gathered) return gathered;
    if (auto failure = misfitting(folder, gathered.value())) return *failure;
    return matched(folder, std::move(gathered).value());
}

}  // namespace tools
