#include <algorithm>
#include <array>
#include <filesystem>
#include <fstream>
#include <optional>
#include <sstream>
#include <system_error>

#include <toml++/toml.h>

#include "sim/reading/document.hpp"
#include "sim/reading/document_places.hpp"
#include "sim/reading/shipped.hpp"
#include "sim/reading/syntax_words.hpp"
#include "sim/reading/utf8_text.hpp"
#include "sim/scenario/nearest.hpp"
#include "sim/scenario/units.hpp"

namespace sim {
namespace {

namespace fs = std::filesystem;

std::string help() { return "see " + shipped_file("README.md"); }

FileError input_error(const std::string& file, int line, std::string message) {
    return {.file = file, .line = line, .key = "", .message = std::move(message)};
}

/// TOML files below `folder`, at most 1000, none if it cannot be read.
std::vector<std::string> toml_files_below(const fs::path& folder, bool into_folders) {
    std::vector<std::string> found;
    std::error_code error;
    constexpr std::size_t files_max = 1000;
    constexpr int depth_max = 4;
    for (fs::recursive_directory_iterator entry(folder, fs::directory_options::skip_permission_denied, error), end;
         !error && entry != end && found.size() < files_max; entry.increment(error)) {
        if (!into_folders || entry.depth() >= depth_max) entry.disable_recursion_pending();
        if (entry->path().extension() == ".toml") found.push_back(entry->path().lexically_normal().string());
    }
    std::sort(found.begin(), found.end());
    return found;
}

FileError no_such_file(const std::string& path) {
    const fs::path folder = fs::path(path).parent_path();
    std::vector<std::string> candidates = toml_files_below(folder.empty() ? "." : folder, false);
    std::vector<std::string> shipped = toml_files_below("scenarios", true);
    if (shipped.empty() && !shipped_scenarios().empty()) shipped = toml_files_below(shipped_scenarios(), true);
    for (std::string& more : shipped) candidates.push_back(std::move(more));
    std::vector<std::string> names;
    names.reserve(candidates.size());
    for (const std::string& candidate : candidates) names.push_back(fs::path(candidate).filename().string());
    std::string message = "no such file; ";
    if (names.empty()) {
        message += "write the path of a scenario or profile file";
    } else {
        message += "nearest: " + candidates[nearest_of(fs::path(path).filename().string(), names)];
    }
    return input_error(path, 0, message);
}

FileError is_a_folder(const std::string& path) {
    std::string message = "is a folder; name a file in it";
    const std::vector<std::string> files = toml_files_below(path, true);
    if (!files.empty()) message += ", for example " + files.front();
    return input_error(path, 0, message);
}

/// A text of two bytes a letter, as some programs save it.
bool is_utf16(std::string_view text) {
    return text.starts_with("\xFF\xFE") || text.starts_with("\xFE\xFF") ||
           (text.size() > 3 && text[0] != 0 && text[1] == 0 && text[2] != 0 && text[3] == 0);
}

FileError no_text(const std::string& path, std::size_t at, unsigned char byte) {
    return input_error(path, 0,
                       "is not text (byte " + std::to_string(at) + " is " + written_hex(byte, 2) +
                           "); a scenario is a TOML file, " + help());
}

/// The text of a regular file of a possible size, or what is wrong.
proto::Result<std::string, FileError> read_text(const std::string& path) {
    std::error_code error;
    const fs::file_status status = fs::status(path, error);
    if (status.type() == fs::file_type::not_found) return no_such_file(path);
    if (error) {
        return FileError{
            .file = path,
            .line = 0,
            .key = "",
            .message = "cannot be read: " + error.message() + "; check the rights of the file and its folders",
            .kind = FileError::Kind::machine};
    }
    if (status.type() == fs::file_type::directory) return is_a_folder(path);
    if (status.type() != fs::file_type::regular) {
        return input_error(path, 0, "is no regular file; a scenario is a TOML file, " + help());
    }
    std::ifstream in(path, std::ios::binary);
    if (!in) {
        return FileError{.file = path,
                         .line = 0,
                         .key = "",
                         .message = "cannot be opened; check the rights of the file",
                         .kind = FileError::Kind::machine};
    }
    const std::uintmax_t size = fs::file_size(path, error);
    // The first bytes of an oversized file are enough to say what it is.
    const std::uintmax_t wanted = error ? file_bytes_max + 1 : size > file_bytes_max ? 4096 : size;
    std::string text(wanted, '\0');
    in.read(text.data(), static_cast<std::streamsize>(wanted));
    text.resize(static_cast<std::size_t>(in.gcount()));
    if (auto unfit = unfit_text(text, error ? text.size() : size, path)) return *unfit;
    return text;
}

int line_of(const toml::source_region& source) { return static_cast<int>(source.begin.line); }

Node converted(const toml::node& from);

Node converted_table(const toml::table& from) {
    Node node;
    for (const auto& [key, value] : from) {
        Member member{std::string(key.str()), converted(value)};
        // A header's line is that of its key; only the key knows it for values over several lines.
        if (const int line = line_of(key.source()); line != 0) member.value.line = line;
        node.members.push_back(std::move(member));
    }
    std::stable_sort(node.members.begin(), node.members.end(),
                     [](const Member& a, const Member& b) { return a.value.line < b.value.line; });
    return node;
}

/// Recurses as deep as the file nests, which the library limits to 256 levels.
Node converted(const toml::node& from) {
    Node node;
    if (const toml::table* table = from.as_table()) {
        node = converted_table(*table);
    } else if (const toml::array* array = from.as_array()) {
        node.kind = Node::Kind::array;
        for (const toml::node& item : *array) node.items.push_back(converted(item));
    } else if (const auto* text = from.as_string()) {
        node.kind = Node::Kind::text;
        node.text = text->get();
    } else if (const auto* integer = from.as_integer()) {
        node.kind = Node::Kind::integer;
        node.integer = integer->get();
        node.by_16 = (integer->flags() & toml::value_flags::format_as_hexadecimal) != toml::value_flags::none;
    } else if (const auto* number = from.as_floating_point()) {
        node.kind = Node::Kind::number;
        node.number = number->get();
    } else if (const auto* boolean = from.as_boolean()) {
        node.kind = Node::Kind::boolean;
        node.boolean = boolean->get();
    } else {
        node.kind = Node::Kind::date_or_time;
    }
    node.line = line_of(from.source());
    return node;
}

}  // namespace

std::optional<FileError> unfit_text(std::string_view text, std::uint64_t size, const std::string& path) {
    if (size == 0) return input_error(path, 0, "is empty; a scenario begins with title = \"...\", " + help());
    if (is_utf16(text)) return input_error(path, 0, "is UTF-16, with two bytes a letter; save the file as UTF-8 text");
    const std::size_t zero = text.find('\0');
    if (zero != std::string_view::npos) return no_text(path, zero, 0);
    if (size <= file_bytes_max) return std::nullopt;
    return input_error(
        path, 0, "has " + std::to_string(size) + " bytes; a scenario has at most " + std::to_string(file_bytes_max));
}

proto::Result<Node, FileError> read_document(const std::string& path) {
    const proto::Result<std::string, FileError> text = read_text(path);
    if (!text) return text.error();
    return document_from(text.value(), path);
}

namespace {

/// What `made` makes of the library's tree, unless that is none or empty.
template <class Made>
proto::Result<Made, FileError> from_parsed(const std::string& text, const std::string& path,
                                           Made (*made)(const toml::table&)) {
    if (std::optional<FileError> error = not_utf8(path, text)) return *error;
    try {
        const toml::table root = toml::parse(text);
        if (root.empty()) {
            return input_error(path, 0, "holds no keys; a scenario begins with title = \"...\", " + help());
        }
        return made(root);
    } catch (const toml::parse_error& error) {
        const SyntaxFault fault = syntax_fault(error.description(), text, line_of(error.source()));
        return input_error(path, fault.line, fault.message + ", " + help());
    }
}

void add_places(const toml::node& of, std::vector<ValuePlace>& places) {
    const toml::table* table = of.as_table();
    const toml::array* array = of.as_array();
    if (array == nullptr && (table == nullptr || table->is_inline())) {
        const auto [begin, end, path] = of.source();
        places.push_back({static_cast<int>(begin.line), static_cast<int>(begin.column), static_cast<int>(end.line),
                          static_cast<int>(end.column)});
    }
    if (table != nullptr)
        for (const auto& [key, value] : *table) add_places(value, places);
    if (array != nullptr)
        for (const toml::node& item : *array) add_places(item, places);
}

PlacedDocument with_places(const toml::table& from) {
    PlacedDocument made{converted(from), {}};
    add_places(from, made.places);
    std::sort(made.places.begin(), made.places.end(), [](const ValuePlace& a, const ValuePlace& b) {
        return a.line != b.line ? a.line < b.line : a.column < b.column;
    });
    return made;
}

}  // namespace

proto::Result<Node, FileError> document_from(const std::string& text, const std::string& path) {
    return from_parsed<Node>(text, path, [](const toml::table& root) { return converted(root); });
}

proto::Result<PlacedDocument, FileError> placed_document_from(const std::string& text, const std::string& path) {
    return from_parsed<PlacedDocument>(text, path, with_places);
}

}  // namespace sim
