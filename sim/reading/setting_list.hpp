#pragma once
// The settings of one end as an engineering tool lists them: one in each line, its name and its value. A second file
// may say which of our settings their words are, and in which unit a bare number is.
#include <string>
#include <string_view>
#include <vector>

#include "proto/result.hpp"
#include "sim/reading/read.hpp"

namespace sim {

struct ListedSetting {
    std::string word;   ///< as their tool calls it
    std::string value;  ///< as typed, with a decimal point
    int line = 0;
    std::string as_it_stands = {};  ///< the cell, of which a number was not made
};

struct SettingList {
    std::string file;
    std::vector<ListedSetting> settings;  ///< in the order of lines
};

/// What their words mean, in the order of lines.
struct WordMap {
    struct Word {
        std::string theirs;
        std::string ours;  ///< a setting; "-": it is none that the link depends on
        std::string unit;  ///< of a bare number; empty: none
    };
    std::string file;
    std::vector<Word> words;
    /// nullptr: it stands not there. Capitals and blanks around do not count.
    [[nodiscard]] const Word* find(std::string_view theirs) const;
};

/// The first two cells of each line, and the unit of a bare number in the third; else that is a remark, as further ones
/// are. Empty lines and a first line "setting", "value" are skipped. Or what is wrong with the file: no file, too long,
/// UTF-16, an open quote, a line of one cell.
proto::Result<SettingList, FileError> read_setting_list(const std::string& path);
/// The same of the bytes of a file; `path` is where they come from, for messages.
proto::Result<SettingList, FileError> setting_list_in(std::string_view bytes, const std::string& path);

/// Lines of: their word, our setting, and the unit if there is one.
proto::Result<WordMap, FileError> read_word_map(const std::string& path);
/// The same of the bytes of a file; `path` is where they come from, for messages.
proto::Result<WordMap, FileError> word_map_in(std::string_view bytes, const std::string& path);

/// Digits with the marks that numbers have, and nothing else.
bool is_bare_number(std::string_view text);

/// The same word, whatever its capitals are.
bool is_same_word(std::string_view a, std::string_view b);

}  // namespace sim
