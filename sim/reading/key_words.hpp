#pragma once
// What each key of a file means, in words: the schema's descriptions and the tables of the pages in scenarios/ are made
// of these rows, and nowhere else are they written.
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace sim {

/// Some keys of one table that are told together.
struct KeyRow {
    std::string_view keys;        ///< with a blank between; below the table's prefix
    std::string_view meaning;     ///< Markdown, on one line
    std::string_view otherwise;   ///< what holds without the key; "needed" if it must be there
    std::string_view shown = {};  ///< in the page, in place of the keys
};

struct KeyTable {
    std::string_view id;      ///< of the place in a page where it stands; empty: in no page, told there in sentences
    std::string_view prefix;  ///< of all its keys: "link."
    std::string_view head;    ///< the page's headings, with " | " between
    std::span<const KeyRow> rows;
};

std::span<const KeyTable> words_of_link();
std::span<const KeyTable> words_of_plant();
std::span<const KeyTable> words_of_duty();
std::span<const KeyTable> words_of_faults();
std::span<const KeyTable> words_of_profiles();
std::span<const KeyTable> words_of_modules();
std::span<const KeyTable> words_of_drills();

/// All tables whose keys stand in a scenario.
std::vector<KeyTable> words_of_scenarios();

/// What a key is called in these rows, by its path without indices as HeardKeys has it: keys that mean the same in
/// several places have one name. "link[].device.scan" is "end.scan", "controller.cycle" is "link.cycle".
std::string name_in_words(const std::string& path);

struct FoundRow {
    KeyRow row;
    std::string_view table;  ///< its id
};
/// The rows of that name, in order.
std::vector<FoundRow> rows_of(std::span<const KeyTable> tables, const std::string& name);

}  // namespace sim
