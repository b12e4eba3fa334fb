#pragma once
// The keys that readers ask for, as a tree.
#include <map>
#include <string>

#include "sim/reading/heard_keys.hpp"

namespace tools {

struct KeyTree {
    std::string path;
    sim::HeardKeys::Shapes shapes;
    std::map<std::string, KeyTree> below;    ///< in a table
    std::map<std::string, KeyTree> in_rows;  ///< in each table of a list

    /// Whether a reader ever says what it holds. One that is only named is refused wherever it stands.
    [[nodiscard]] bool is_read() const;
};

/// Its root is the file itself.
KeyTree key_tree(const sim::HeardKeys& keys);

}  // namespace tools
