#pragma once
// One value of the file, as the page shows it and lets it be typed.
#include <string>
#include <vector>

#include "sim/scenario/typed_address.hpp"
#include "tools/text/value.hpp"

namespace sim {
class WrittenFile;
struct ComparedSetting;
}  // namespace sim

namespace tools {

struct TypedPlace {
    std::string path;       ///< where it is typed; empty: nowhere
    std::string otherwise;  ///< where it may stand too, for all links of a cell; empty: nowhere else
};

/// What stands at that place and, where nothing does, `shown`: what is used there.
Value cell_told(const sim::WrittenFile& file, const TypedPlace& place, const std::string& shown,
                const std::vector<sim::TypedAddress>& addresses = {});
/// A cell that nobody can type in.
Value fixed_cell(const std::string& shown);
/// Where an edit of that place goes: to the path at which it stands already.
std::string path_to_type(const sim::WrittenFile& file, const TypedPlace& place);

/// Something stands in the file at either path.
bool is_typed(const sim::WrittenFile& file, const TypedPlace& place);

}  // namespace tools
