#pragma once
// What edits of a text share.
#include <string>
#include <string_view>

#include "sim/reading/patch.hpp"

namespace sim {

FileError refused(const WrittenFile& file, std::string_view path, std::string message);

/// `text` if it reads back as `meant`, else a refusal; `path`: what was edited.
proto::Result<std::string, FileError> as_meant(const WrittenFile& file, std::string_view path, std::string text,
                                               const Node& meant);

/// What a text says that is to be one value and nothing else; nothing if it is not.
std::optional<Node> value_alone(std::string_view value);

/// Where a value that is not there goes, and with which text around it; or why nowhere.
struct Insertion {
    std::size_t at = 0;
    std::string text;
};
proto::Result<Insertion, FileError> insertion_of(const WrittenFile& file, std::string_view path,
                                                 const WrittenPath& steps, std::string_view value);

/// Takes the lines of a block out, and blank lines with it, so that as many are left as there were on one side.
void cut_block(std::string& text, const Stretch& block);

}  // namespace sim
