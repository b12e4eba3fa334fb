#include "sim/reading/patch.hpp"

#include <utility>

#include "sim/reading/document_places.hpp"
#include "sim/reading/patch_checked.hpp"
#include "sim/reading/section.hpp"
#include "sim/reading/tree_edits.hpp"

namespace sim {

proto::Result<WrittenFile, FileError> WrittenFile::of(std::string text, std::string path) {
    if (auto unfit = unfit_text(text, text.size(), path)) return *unfit;
    auto document = placed_document_from(text, path);
    if (!document) return document.error();
    auto parts = written_parts(text, document.value().places);
    if (!parts)
        return FileError{.file = std::move(path),
                         .key = "",
                         .message = "holds something that is found nowhere in its text; edit it as text"};
    return WrittenFile(std::move(text), std::move(path), std::move(document).value().root, std::move(*parts));
}

FileError refused(const WrittenFile& file, std::string_view path, std::string message) {
    constexpr std::size_t shown_most = 200;  // in a message: nobody's path is longer
    FileError error{.file = file.path(), .key = std::string(path.substr(0, shown_most)), .message = std::move(message)};
    if (const auto steps = path_in(path))
        if (const std::size_t part = part_at(file.parts(), *steps); part != WrittenPart::none)
            error.line = file.parts()[part].line;
    return error;
}

proto::Result<std::string, FileError> as_meant(const WrittenFile& file, std::string_view path, std::string text,
                                               const Node& meant) {
    if (auto unfit = unfit_text(text, text.size(), file.path())) return *unfit;
    const auto tree = document_from(text, file.path());
    if (!tree) return refused(file, path, "cannot be edited alone: the file then " + tree.error().message);
    if (!same_tree(tree.value(), meant))
        return refused(file, path, "cannot be edited alone: something else would be read differently; edit the text");
    return text;
}

std::optional<WrittenValue> value_at(const WrittenFile& file, std::string_view path) {
    const auto steps = path_in(path);
    if (!steps) return std::nullopt;
    const std::size_t at = part_at(file.parts(), *steps);
    if (at == WrittenPart::none || file.parts()[at].value.size() == 0) return std::nullopt;
    const WrittenPart& part = file.parts()[at];
    const std::string_view text = file.text();
    return WrittenValue{text.substr(part.value.begin, part.value.size()), part.line, node_at(file.tree(), *steps)};
}

std::optional<Node> value_alone(std::string_view value) {
    constexpr std::string_view begin = "x = ";
    auto alone = WrittenFile::of(std::string(begin) + std::string(value), "");
    if (!alone || alone.value().parts().front().below.size() != 1) return std::nullopt;
    const WrittenPart& part = alone.value().parts()[1];
    if (part.value != Stretch{begin.size(), begin.size() + value.size()} || part.key != "x") return std::nullopt;
    return alone.value().tree().members.front().value;
}

proto::Result<std::string, FileError> with_value(const WrittenFile& file, std::string_view path,
                                                 std::string_view value) {
    const auto steps = path_in(path);
    if (!steps) return refused(file, path, "is no path of a key; write link.watchdog, or fault[3].at");
    const std::optional<Node> node = value_alone(value);
    if (!node)
        return refused(file, path, in_quotes(value) + " is no value; write a number, a text in quotes, or a list");
    Node meant = file.tree();
    if (!put_at(meant, *steps, *node)) {
        const auto place = insertion_of(file, path, *steps, value);
        return place ? refused(file, path, "leads nowhere") : place.error();
    }
    std::string text = file.text();
    const std::size_t at = part_at(file.parts(), *steps);
    if (at != WrittenPart::none) {
        const Stretch& old = file.parts()[at].value;
        if (old.size() == 0) return refused(file, path, "is a table, not a value; type its keys");
        text.replace(old.begin, old.size(), value);
    } else {
        const auto place = insertion_of(file, path, *steps, value);
        if (!place) return place.error();
        text.insert(place.value().at, place.value().text);
    }
    return as_meant(file, path, std::move(text), meant);
}

}  // namespace sim
