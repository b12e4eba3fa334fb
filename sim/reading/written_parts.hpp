#pragma once
// Where everything stands in the text of a file: bytes of values, keys, headers and lines. Found by a walk over the
// text; what the parser says of the places of values must be the same, else there is nothing.
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sim/reading/document_places.hpp"
#include "sim/reading/written_keys.hpp"

namespace sim {

/// A range of bytes.
struct Stretch {
    std::size_t begin = 0, end = 0;
    [[nodiscard]] std::size_t size() const { return end - begin; }
    friend bool operator==(const Stretch&, const Stretch&) = default;
};

/// One thing in the text. They lie in one list and name each other by their places there.
struct WrittenPart {
    enum class Kind : std::uint8_t {
        scalar,
        list,          ///< [ ... ]
        inline_table,  ///< { ... }
        table,         ///< by a header, or by the headers and dotted keys that lead through it
        blocks,        ///< of [[headers]]; its parts are the tables
    };
    static constexpr std::size_t none = static_cast<std::size_t>(-1);
    Kind kind = Kind::table;
    std::string key{};         ///< empty in a list
    std::size_t above = none;  ///< the part that it belongs to
    std::vector<std::size_t> below{};
    Stretch value{};  ///< of scalar, list, inline_table: its bytes
    /// Of a member: from the first byte of its (dotted) key to the end of its value; of a table with a header: the
    /// header from its first bracket to its last. Of an item of a list: its value. Empty: it is there only by what
    /// leads through it.
    Stretch statement{};
    std::size_t header = none;  ///< of a statement that is a line: the table below whose header it stands
    int line = 0;               ///< 1..
};

/// The parts of a text; the first is the file itself.
using WrittenParts = std::vector<WrittenPart>;

/// Requires a text that the parser took, and what it said of places. Nothing if the two do not agree.
std::optional<WrittenParts> written_parts(std::string_view text, const std::vector<ValuePlace>& said);

/// The part at a path, or none. Of a key in a [[block]] the block must be named by its place.
std::size_t part_at(const WrittenParts& parts, const WrittenPath& path);

}  // namespace sim
