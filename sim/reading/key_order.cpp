#include "sim/reading/key_order.hpp"

#include <algorithm>
#include <array>
#include <limits>
#include <map>
#include <string>
#include <vector>

#include "sim/reading/key_words.hpp"

namespace sim {
namespace {

using Order = std::map<std::string, std::size_t, std::less<>>;

Order order_of(const std::vector<KeyTable>& tables) {
    Order order;
    for (const KeyTable& table : tables)
        for (const KeyRow& row : table.rows)
            for (std::string_view left = row.keys; !left.empty();) {
                const std::size_t end = std::min(left.find(' '), left.size());
                order.emplace(std::string(table.prefix) + std::string(left.substr(0, end)), order.size());
                left.remove_prefix(std::min(end + 1, left.size()));
            }
    return order;
}

Order order_of(std::span<const KeyTable> tables) {
    return order_of(std::vector<KeyTable>(tables.begin(), tables.end()));
}

const Order& order_of(FileKind file) {
    static const Order scenario = order_of(words_of_scenarios()), profile = order_of(words_of_profiles()),
                       module = order_of(words_of_modules());
    static const Order drill = [] {
        Order made = order_of(words_of_drills());
        for (const auto& [key, place] : scenario) made.emplace(key, made.size() + place);
        return made;
    }();
    switch (file) {
        case FileKind::scenario: return scenario;
        case FileKind::profile: return profile;
        case FileKind::module: return module;
        case FileKind::drill:
        case FileKind::action_cards: break;
    }
    return drill;
}

bool is_end(const std::string& table) {
    constexpr std::array ends{"controller", "device", "link.controller", "link.device"};
    return std::find(ends.begin(), ends.end(), table) != ends.end();
}

}  // namespace

std::size_t listed_at(FileKind file, const WrittenPath& key) {
    constexpr std::size_t not_listed = std::numeric_limits<std::size_t>::max();
    const std::string path = path_in_words(key), name = name_in_words(path);
    const Order& order = order_of(file);
    auto found = order.find(name);
    if (found == order.end()) found = order.find(path);
    if (found == order.end()) return not_listed;
    // what is an end's own stands before the settings of the link that were typed there otherwise
    const bool setting = name.starts_with("link.") && is_end(path.substr(0, std::min(path.rfind('.'), path.size())));
    return setting ? order.size() + found->second : found->second;
}

bool has_own_header(const WrittenPath& table) {
    const std::string path = path_in_words(table);
    if (path.find('.') == std::string::npos) return true;
    if (path.find('.') == path.rfind('.') && path.starts_with("link.")) return true;
    constexpr std::array last{"network", "bits", "values", "stopping", "to_device", "to_controller"};
    return std::any_of(last.begin(), last.end(),
                       [&](const char* word) { return path.ends_with("." + std::string(word)); });
}

}  // namespace sim
