#pragma once
#include "sim/reading/document.hpp"

namespace sim {

/// Tells by the keys of a tree what its file is, see kind_of_text().
FileKind kind_of_tree(const Node& root);

}  // namespace sim
