#include "tools/keys/key_tree.hpp"

#include <algorithm>
#include <string_view>

namespace tools {
namespace {

using Kind = sim::KeyShape::Kind;

/// The place of a path below `root`, made if it is not there.
KeyTree& grown(KeyTree& root, std::string_view path) {
    KeyTree* at = &root;
    bool rows = false;
    while (!path.empty()) {
        const std::size_t end = std::min(path.find('.'), path.size());
        std::string_view step = path.substr(0, end);
        const bool list = step.ends_with("[]");
        if (list) step.remove_suffix(2);
        const std::string parent = at->path + (rows ? "[]" : "");
        KeyTree& next = (rows ? at->in_rows : at->below)[std::string(step)];
        next.path = parent + (parent.empty() ? "" : ".") + std::string(step);
        at = &next;
        rows = list;
        path.remove_prefix(std::min(end + 1, path.size()));
    }
    return *at;
}

}  // namespace

bool KeyTree::is_read() const {
    return !below.empty() || !in_rows.empty() ||
           std::any_of(shapes.begin(), shapes.end(), [](const sim::KeyShape& s) { return s.kind != Kind::named; });
}

KeyTree key_tree(const sim::HeardKeys& keys) {
    KeyTree root;
    for (const auto& [path, shapes] : keys.all())
        if (!path.empty()) grown(root, path).shapes = shapes;
    return root;
}

}  // namespace tools
