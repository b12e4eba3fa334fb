#pragma once
// A file's text altered by values: only the bytes of what is altered differ, comments, order and spelling stay. What an
// edit made is parsed and compared with the tree that was meant before anybody gets it.
//
// A path is what messages call a place: "link.watchdog", "fault[3].at" (counted from 1), "link[2].device.address",
// "bits.flap"; a name that holds other letters than A-Z, a-z, 0-9, _ and - may stand in quotes: bits."pit door".
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "proto/result.hpp"
#include "sim/reading/document.hpp"
#include "sim/reading/written_parts.hpp"

namespace sim {

/// A text that was parsed, with the place of all that stands in it.
class WrittenFile {
  public:
    /// Refuses what does not parse, with its line; `path` is where it comes from, for messages.
    static proto::Result<WrittenFile, FileError> of(std::string text, std::string path);
    [[nodiscard]] const std::string& text() const { return text_; }
    [[nodiscard]] const std::string& path() const { return path_; }
    [[nodiscard]] const Node& tree() const { return tree_; }
    [[nodiscard]] const WrittenParts& parts() const { return parts_; }

  private:
    WrittenFile(std::string text, std::string path, Node tree, WrittenParts parts)
        : text_(std::move(text)), path_(std::move(path)), tree_(std::move(tree)), parts_(std::move(parts)) {}
    std::string text_, path_;
    Node tree_;
    WrittenParts parts_;
};

/// What stands in a file at some place.
struct WrittenValue {
    std::string_view written;  ///< its bytes, as they stand in the file, which outlives this
    int line = 0;              ///< 1.., that of its key
    const Node* node = nullptr;
};
/// The value at a path, a list or an inline table too; nothing where there is none, or a table with a header.
std::optional<WrittenValue> value_at(const WrittenFile& file, std::string_view path);

/// The file's text with that value at that path: in place of the one there, or as a new key where the documentation
/// lists it. A table that is not there is made; a [[block]] that is not there is not. `value`: as it stands in a file,
/// see as_toml(). Refuses (with the path as its key) what is no value, a path that leads nowhere or through a value,
/// and whatever would not be read back as meant.
proto::Result<std::string, FileError> with_value(const WrittenFile& file, std::string_view path,
                                                 std::string_view value);

/// What a person typed for that path as it is to stand in the file: 80 ms -> "80 ms", 23 -> 23 where a number may
/// stand, 0x17 as it is, lists as they are; what is typed in quotes is taken as it is. Asked are, in this order: what
/// the readers let the key hold, what stands there, what stands at the same key elsewhere in the file. Refuses only
/// what is no text (not UTF-8).
proto::Result<std::string, FileError> as_toml(const WrittenFile& file, std::string_view path, std::string_view typed);

/// The file's text without what that path names: a key with its line (or out of its inline table or list), a table or
/// a [[block]] with all below it and the comment lines touching its header. A table that is emptied by that goes too,
/// unless it is one of several or a comment stands in it, behind its header or touching it.
proto::Result<std::string, FileError> without(const WrittenFile& file, std::string_view path);

/// The file's text without all [[blocks]] of these kinds ("fault", "demand"), and with `blocks`, the text of such
/// blocks, in place of the first of them, else at the end. Refuses blocks of other kinds.
proto::Result<std::string, FileError> with_blocks(const WrittenFile& file, std::span<const std::string_view> kinds,
                                                  std::string_view blocks);

}  // namespace sim
