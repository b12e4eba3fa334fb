#include "sim/reading/all_problems.hpp"

#include <algorithm>
#include <filesystem>

#include "sim/reading/cell_parts.hpp"
#include "sim/reading/heard_keys.hpp"
#include "sim/reading/parts.hpp"
#include "sim/reading/read_cell.hpp"
#include "sim/reading/read_drill.hpp"
#include "sim/scenario/network.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/whole_cell.hpp"

namespace sim {
namespace {

using Document = proto::Result<Node, FileError>;

void read_drill_of(const Node& document, const std::string& path, Problems& problems) {
    const auto cards = read_cards_of(std::filesystem::path(path).parent_path().string());
    if (!cards) return problems.say(cards.error());
    drill_with_variants(document, path, cards.value(), problems);
}

void read_as(FileKind kind, const Node& document, const std::string& path, Problems& problems) {
    switch (kind) {
        case FileKind::scenario:
            if (is_cell(document))
                cell_from(document, path, problems);
            else
                scenario_from(document, path, problems);
            return;
        case FileKind::drill: return read_drill_of(document, path, problems);
        case FileKind::action_cards: action_cards_from(document, problems); return;
        case FileKind::module:
        case FileKind::profile: break;
    }
    Section top(document, "", problems);
    if (kind == FileKind::module) {
        ModuleLayout layout;
        return read_module_keys(top, path, layout);
    }
    proto::Profile profile;
    read_profile_keys(top, path, profile);
}

std::vector<FileError> all_problems(const Document& document, const proto::Result<FileKind, FileError>& kind,
                                    const std::string& path) {
    if (!document) return {document.error()};
    if (!kind) return {kind.error()};
    Problems problems(path);
    read_as(kind.value(), document.value(), path, problems);
    std::vector<FileError> all = problems.all();
    // those of other files last: they have lines of their own
    std::stable_sort(all.begin(), all.end(), [&](const FileError& a, const FileError& b) {
        return a.file != b.file ? a.file == path && b.file != path : a.line < b.line;
    });
    return all;
}

}  // namespace

void hear_keys(const std::string& text, const std::string& path, KeyEars& ears) {
    const Document document = document_from(text, path);
    const auto kind = kind_of_text(text, path);
    if (!document || !kind) return;
    Problems problems(path);
    problems.tell(&ears);
    read_as(kind.value(), document.value(), path, problems);
}

std::vector<FileError> all_problems_of(const std::string& path) {
    return all_problems(read_document(path), kind_of_file(path), path);
}

std::vector<FileError> all_problems_in(const std::string& text, const std::string& path) {
    return all_problems(document_from(text, path), kind_of_text(text, path), path);
}

}  // namespace sim
