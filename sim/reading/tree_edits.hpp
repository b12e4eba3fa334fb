#pragma once
// The tree that an edit of a text is meant to give, and whether it did.
#include "sim/reading/document.hpp"
#include "sim/reading/written_keys.hpp"

namespace sim {

/// What stands at a path, or nullptr.
const Node* node_at(const Node& root, const WrittenPath& path);
/// Puts a value there, and the tables that lead to it. False if the path leads through what is no table, or to an item
/// that is not there.
bool put_at(Node& root, const WrittenPath& path, Node value);
/// Takes out what stands there. False if nothing does.
bool take_at(Node& root, const WrittenPath& path);

/// Whether two trees say the same, wherever their lines are. Of a date only that it is one.
bool same_tree(const Node& a, const Node& b);

}  // namespace sim
