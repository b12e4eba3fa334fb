#pragma once
// In which order the documentation lists the keys of a file.
#include <cstddef>

#include "sim/reading/read.hpp"
#include "sim/reading/written_keys.hpp"

namespace sim {

/// Of two keys in one table the one with the lower number is listed first; those in no list have the highest.
std::size_t listed_at(FileKind file, const WrittenPath& key);

/// Whether a table of that path is written with a header of its own, rather than in braces in the table above it.
bool has_own_header(const WrittenPath& table);

}  // namespace sim
