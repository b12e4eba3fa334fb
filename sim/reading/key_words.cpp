#include "sim/reading/key_words.hpp"

#include <algorithm>
#include <array>

namespace sim {
namespace {

/// The beginning of a path, and what it is called in the words. The first that fits counts, and then all again.
struct Renamed {
    std::string_view begin, name;
};
constexpr std::array renamed{
    // below [[link]] stand the tables of a file with one link
    Renamed{"link.controller.", "controller."}, Renamed{"link.device.", "device."}, Renamed{"link.bits.", "bits."},
    Renamed{"link.values.", "values."}, Renamed{"link.channel.", "channel."}, Renamed{"link.required.", "required."},
    Renamed{"link.limit.", "limit."}, Renamed{"link.neighbour.", "neighbour."}, Renamed{"link.part.", "part."},
    Renamed{"machine.stopping.", "stopping."},
    // at an end, and below one way
    Renamed{"controller.bits.", "bits."}, Renamed{"device.bits.", "bits."}, Renamed{"controller.values.", "values."},
    Renamed{"device.values.", "values."}, Renamed{"channel.to_device.", "channel."},
    Renamed{"channel.to_controller.", "channel."}, Renamed{"controller.", "end."}, Renamed{"device.", "end."},
    // the same keys, there as here
    Renamed{"function.distance.", "distance."}, Renamed{"function.must.", "function."},
    // of a drill
    Renamed{"half.", "right."}, Renamed{"expect.link.*.", "expect."}, Renamed{"expect.controller.", "expect.end."},
    Renamed{"expect.device.", "expect.end."}, Renamed{"helpful.", "danger."}, Renamed{"no_help.", "danger."}};

/// Keys of an end that are settings of its link.
bool is_setting(std::string_view key) {
    for (const KeyTable& table : words_of_link()) {
        if (table.id != "link" && table.id != "fitted") continue;
        for (const KeyRow& row : table.rows)
            if ((" " + std::string(row.keys) + " ").find(" " + std::string(key) + " ") != std::string::npos)
                return true;
    }
    return false;
}

bool has_key(std::string_view keys, std::string_view key) {
    while (!keys.empty()) {
        const std::size_t end = std::min(keys.find(' '), keys.size());
        if (keys.substr(0, end) == key) return true;
        keys.remove_prefix(std::min(end + 1, keys.size()));
    }
    return false;
}

}  // namespace

std::vector<KeyTable> words_of_scenarios() {
    std::vector<KeyTable> all;
    for (const auto tables : {words_of_link(), words_of_plant(), words_of_duty(), words_of_faults()})
        all.insert(all.end(), tables.begin(), tables.end());
    return all;
}

std::string name_in_words(const std::string& path) {
    std::string name;
    for (const char c : path)
        if (c != '[' && c != ']') name += c;
    for (bool again = true; again;) {
        const auto found = std::find_if(renamed.begin(), renamed.end(),
                                        [&](const Renamed& one) { return name.starts_with(one.begin); });
        again = found != renamed.end();
        if (again) name = std::string(found->name) + name.substr(found->begin.size());
    }
    constexpr std::string_view end = "end.";
    if (name.starts_with(end) && is_setting(name.substr(end.size()))) name = "link." + name.substr(end.size());
    return name;
}

std::vector<FoundRow> rows_of(std::span<const KeyTable> tables, const std::string& name) {
    std::vector<FoundRow> rows;
    for (const KeyTable& table : tables) {
        if (!name.starts_with(table.prefix)) continue;
        for (const KeyRow& row : table.rows)
            if (has_key(row.keys, std::string_view(name).substr(table.prefix.size()))) rows.push_back({row, table.id});
    }
    return rows;
}

}  // namespace sim
