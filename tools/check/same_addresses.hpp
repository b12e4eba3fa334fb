#pragma once
// Safety addresses over several files of one check: each is given once in a plant.
#include <vector>

#include "tools/check/findings.hpp"

namespace tools {

/// Adds a problem to each file with a station whose address one of another name has in a file before it. A station that
/// stands in several files by the same name is one and the same.
void find_same_addresses(std::vector<CheckedFile>& files);

}  // namespace tools
