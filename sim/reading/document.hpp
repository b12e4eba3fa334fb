#pragma once
// A file as a tree of plain values with line numbers, so that one translation unit alone knows the TOML library.
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "proto/result.hpp"
#include "sim/reading/read.hpp"

namespace sim {

struct Member;

struct Node {
    enum class Kind : std::uint8_t { text, integer, number, boolean, table, array, date_or_time };
    Kind kind = Kind::table;
    int line = 0;
    std::string text;
    std::int64_t integer = 0;
    bool by_16 = false;  ///< of an integer: typed as 0x1F
    double number = 0.0;
    bool boolean = false;
    std::vector<Member> members;  ///< of a table, in the order of lines
    std::vector<Node> items;      ///< of an array
    /// Put there by the reader of a cell: of another link than the one that is read.
    bool elsewhere = false;

    [[nodiscard]] const Node* find(std::string_view key) const;
};

struct Member {
    std::string key;
    Node value;
};

/// Puts a value into a table under that key, in place of what stands there.
void put(Node& table, std::string_view key, Node value);

/// The tree of a TOML file; refuses what is no regular file, too long, or not UTF-8 text, from its first bytes.
proto::Result<Node, FileError> read_document(const std::string& path);
/// The same of a text; `path` is where it comes from, for messages.
proto::Result<Node, FileError> document_from(const std::string& text, const std::string& path);

}  // namespace sim
