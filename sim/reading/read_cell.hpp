#pragma once
// Reading a file with several links. The format is described in scenarios/README.md.
#include <optional>
#include <string>

#include "sim/reading/read.hpp"

namespace sim {

struct Node;
struct WholeCell;
class Problems;

/// Whether a file has several links; what is wrong with a file that cannot be read is told when it is.
bool has_several_links(const std::string& path);
/// The same of a text.
bool has_several_links_in(const std::string& text, const std::string& path);

/// The cell in a file, or the first thing that is wrong with it.
proto::Result<WholeCell, FileError> read_cell(const std::string& path);
/// The same of a text; what it names is looked for as if it were the file at `path`.
proto::Result<WholeCell, FileError> cell_in(const std::string& text, const std::string& path);
/// As far as it can be read: only good if `problems`, which are of that file, are none.
WholeCell cell_from(const Node& document, const std::string& path, Problems& problems);

}  // namespace sim
