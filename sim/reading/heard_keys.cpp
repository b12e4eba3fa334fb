#include "sim/reading/heard_keys.hpp"

#include <algorithm>

#include "sim/reading/section.hpp"

namespace sim {
namespace {

using Kind = KeyShape::Kind;

/// Takes in what another reader asks for, so that what either takes is taken.
void widen(KeyShape& shape, const KeyShape& other) {
    shape.low = std::min(shape.low, other.low);
    shape.high = std::max(shape.high, other.high);
    shape.least = std::min(shape.least, other.least);
    shape.most = std::max(shape.most, other.most);
    shape.above_zero = shape.above_zero && other.above_zero;
    shape.largest = shape.largest == 0 || other.largest == 0 ? 0 : std::max(shape.largest, other.largest);
    for (const std::string& word : other.words)
        if (std::find(shape.words.begin(), shape.words.end(), word) == shape.words.end()) shape.words.push_back(word);
}

/// Without its indices: "fault[]" for "fault[3]".
std::string without_index(std::string_view step) {
    const std::size_t bracket = step.find('[');
    return std::string(step.substr(0, bracket)) + (bracket == std::string_view::npos ? "" : "[]");
}

}  // namespace

KeyShape KeyShape::quantity(std::span<const Unit> units, bool above_zero, std::int64_t largest) {
    KeyShape shape{.kind = Kind::quantity};
    for (const Unit& unit : units) shape.words.emplace_back(unit.name);
    shape.above_zero = above_zero;
    shape.largest = largest;
    return shape;
}

void holds(Section& section, std::string_view key, const KeyShape& shape) {
    if (KeyEars* const ears = section.problems().ears()) ears->asked(section.place(key).key, shape);
}

void holds_any_name(Section& section) {
    if (KeyEars* const ears = section.problems().ears())
        ears->asked(section.place().key, KeyShape::of(KeyShape::Kind::free_table));
}

std::string HeardKeys::without_names(const std::string& path) const {
    std::string made;
    std::string_view left = path;
    while (!left.empty()) {
        const std::size_t end = std::min(left.find('.'), left.size());
        const std::string step = free_.contains(made) ? "*" : without_index(left.substr(0, end));
        made += (made.empty() ? "" : ".") + step;
        left.remove_prefix(std::min(end + 1, left.size()));
    }
    return made;
}

void HeardKeys::asked(const std::string& path, const KeyShape& shape) {
    const std::string key = without_names(path);
    if (shape.kind == Kind::free_table) free_.insert(key);
    Shapes& shapes = all_[key];
    const auto same =
        std::find_if(shapes.begin(), shapes.end(), [&](const KeyShape& s) { return s.kind == shape.kind; });
    if (same == shapes.end())
        shapes.push_back(shape);
    else
        widen(*same, shape);
}

const HeardKeys::Shapes* HeardKeys::find(const std::string& path) const {
    const auto found = all_.find(path);
    return found == all_.end() ? nullptr : &found->second;
}

}  // namespace sim
