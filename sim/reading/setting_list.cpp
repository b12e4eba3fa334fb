#include "sim/reading/setting_list.hpp"

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <optional>
#include <sstream>
#include <system_error>
#include <utility>

#include "sim/reading/csv_cells.hpp"
#include "sim/reading/section.hpp"

namespace sim {
namespace {

namespace fs = std::filesystem;

struct Row {
    int line = 0;
    std::vector<std::string> cells;
};

FileError wrong(const std::string& path, int line, std::string message) {
    return FileError{.file = path, .line = line, .key = "", .message = std::move(message)};
}

proto::Result<std::string, FileError> bytes_of(const std::string& path) {
    std::error_code error;
    if (!fs::is_regular_file(path, error)) return wrong(path, 0, "is no file; write the path of a CSV file");
    if (fs::file_size(path, error) > file_bytes_max || error)
        return wrong(path, 0, "has over " + std::to_string(file_bytes_max) + " bytes; write a shorter file");
    std::ifstream in(path, std::ios::binary);
    std::string bytes((std::istreambuf_iterator<char>(in)), std::istreambuf_iterator<char>());
    if (!in) {
        FileError unreadable = wrong(path, 0, "cannot be read; check the rights of the file");
        unreadable.kind = FileError::Kind::machine;
        return unreadable;
    }
    return bytes;
}

/// The lines of a table with something in them.
proto::Result<std::vector<Row>, FileError> rows_of(std::string_view bytes, const std::string& path) {
    std::optional<std::string> text = as_utf8(bytes);
    if (!text) return wrong(path, 1, "is UTF-16; save it as CSV in UTF-8");
    // line ends of old machines: a carriage return alone
    for (std::size_t i = 0; i < text->size(); ++i)
        if ((*text)[i] == '\r' && (i + 1 >= text->size() || (*text)[i + 1] != '\n')) (*text)[i] = '\n';
    if (text->find('\0') != std::string::npos) return wrong(path, 0, "is no text; save it as CSV");
    std::vector<Row> rows;
    std::istringstream lines(*text);
    std::string line;
    char separator = '\0';
    for (int number = 1; std::getline(lines, line); ++number) {
        if (without_blanks(line).empty()) continue;
        if (separator == '\0') separator = separator_in(line);
        auto cells = cells_of(line, separator);
        if (!cells) return wrong(path, number, "has a quote that is never closed; close it");
        rows.push_back({number, std::move(*cells)});
    }
    if (rows.empty()) return wrong(path, 0, "is empty; write a setting and its value in each line");
    return rows;
}

char lower(char c) { return static_cast<char>(std::tolower(static_cast<unsigned char>(c))); }

bool is_digit(char c) { return c >= '0' && c <= '9'; }

/// The digits and marks that a value begins with, behind a sign.
std::size_t end_of_number(std::string_view value) {
    std::size_t end = value.starts_with("-") ? 1 : 0;
    const auto goes_on = [&](std::size_t at) {
        if (is_digit(value[at])) return true;
        const bool mark = value[at] == '.' || value[at] == ',' || value[at] == '\'' || value[at] == ' ';
        return mark && at + 1 < value.size() && is_digit(value[at + 1]);
    };
    while (end < value.size() && goes_on(end)) ++end;
    return end;
}

/// Marks that group digits by three: a mark every three digits up to the end, one to three before the first.
bool groups_by_three(std::string_view digits, char mark) {
    std::size_t at = digits.find(mark);
    if (at == std::string_view::npos || at == 0 || at > 3) return false;
    for (; at < digits.size(); at += 4) {
        if (digits[at] != mark || digits.size() - at < 4) return false;
        for (std::size_t i = 1; i <= 3; ++i)
            if (!is_digit(digits[at + i])) return false;
    }
    return true;
}

std::string without(std::string_view text, char mark) {
    std::string kept(text);
    std::erase(kept, mark);
    return kept;
}

/// The number with a decimal point and without marks of thousands; nothing if it may be either.
std::optional<std::string> plain_number(std::string_view number) {
    for (const char mark : {'\'', ' '}) {
        const std::size_t point = number.find_first_of(".,");
        const std::string_view whole = number.substr(0, point);
        if (whole.find(mark) == std::string_view::npos) continue;
        if (!groups_by_three(whole, mark)) return std::nullopt;
        return plain_number(without(number, mark));
    }
    const bool points = number.find('.') != std::string_view::npos, commas = number.find(',') != std::string_view::npos;
    if (points && commas) {
        const char decimal = number.rfind('.') > number.rfind(',') ? '.' : ',', mark = decimal == '.' ? ',' : '.';
        const std::size_t at = number.rfind(decimal);
        if (number.find(decimal) != at || !groups_by_three(number.substr(0, at), mark)) return std::nullopt;
        return without(number.substr(0, at), mark) + "." + std::string(number.substr(at + 1));
    }
    if (!points && !commas) return std::string(number);
    const char mark = points ? '.' : ',';
    if (std::count(number.begin(), number.end(), mark) > 1) {
        if (!groups_by_three(number, mark)) return std::nullopt;
        return without(number, mark);
    }
    // "1.250" may be one and a quarter or more than a thousand; "0.250" cannot
    if (groups_by_three(number, mark) && number.front() != '0') return std::nullopt;
    std::string kept(number);
    kept[kept.find(mark)] = '.';
    return kept;
}

/// Numbers with dots between that group nothing by three: an address or a version; four of them are an address anyway.
bool is_dotted(std::string_view text) {
    const auto dots = std::count(text.begin(), text.end(), '.');
    const bool plain = std::all_of(text.begin(), text.end(), [](char c) { return is_digit(c) || c == '.'; });
    return plain && dots > 1 && (dots == 3 || !groups_by_three(text, '.'));
}

/// A value as our files write it; nothing if its number may be two.
std::optional<std::string> plain_value(const std::string& value) {
    std::string text = value;
    // blanks that no keyboard has: U+00A0 and U+202F
    for (const std::string_view blank : {"\xC2\xA0", "\xE2\x80\xAF"})
        for (std::size_t at = text.find(blank); at != std::string::npos; at = text.find(blank))
            text.replace(at, blank.size(), " ");
    text = std::string(without_blanks(text));
    const std::size_t sign = text.starts_with("-") ? 1 : 0, end = end_of_number(text);
    if (end == sign) return text;
    // "192.0.2.10", "2.1.0": no number of anything
    if (is_dotted(std::string_view(text).substr(sign))) return text;
    // letters right behind digits: a name or a number in hex
    if (end < text.size() && text[end] != ' ' && text[end] != '\t' && text[end] != '%') return text;
    const auto number = plain_number(std::string_view(text).substr(sign, end - sign));
    if (!number) return std::nullopt;
    return text.substr(0, sign) + *number + text.substr(end);
}

/// "ms", "Byte"; a remark is longer or has blanks.
bool may_be_unit(std::string_view text) {
    constexpr std::size_t longest = 6;
    return !text.empty() && text.size() <= longest && std::all_of(text.begin(), text.end(), [](char c) {
        return std::isalpha(static_cast<unsigned char>(c)) != 0 || c == '/';
    });
}

}  // namespace

bool is_bare_number(std::string_view text) {
    return !text.empty() && end_of_number(text) == text.size() && text.find_first_of("0123456789") != std::string::npos;
}

bool is_same_word(std::string_view a, std::string_view b) {
    return a.size() == b.size() &&
           std::equal(a.begin(), a.end(), b.begin(), [](char x, char y) { return lower(x) == lower(y); });
}

const WordMap::Word* WordMap::find(std::string_view theirs) const {
    for (const Word& word : words)
        if (is_same_word(word.theirs, theirs)) return &word;
    return nullptr;
}

proto::Result<SettingList, FileError> read_setting_list(const std::string& path) {
    const auto bytes = bytes_of(path);
    if (!bytes) return bytes.error();
    return setting_list_in(bytes.value(), path);
}

proto::Result<SettingList, FileError> setting_list_in(std::string_view bytes, const std::string& path) {
    const auto rows = rows_of(bytes, path);
    if (!rows) return rows.error();
    SettingList list{.file = path, .settings = {}};
    for (const Row& row : rows.value()) {
        if (row.cells.size() < 2)
            return wrong(path, row.line,
                         "has one cell only; write a setting and its value with a semicolon, a tab or a comma between");
        if (list.settings.empty() && is_same_word(row.cells[0], "setting") && is_same_word(row.cells[1], "value"))
            continue;
        std::string typed = row.cells[1];
        const std::string third = row.cells.size() > 2 ? row.cells[2] : std::string();
        if (is_bare_number(typed) && is_bare_number(third))
            return wrong(path, row.line,
                         "has two numbers, " + in_quotes(typed) + " and " + in_quotes(third) +
                             "; with a decimal comma put semicolons between the cells, or quotes around the number");
        if (is_bare_number(typed) && may_be_unit(third)) typed += " " + third;
        const std::optional<std::string> value = plain_value(typed);
        if (!value)
            return wrong(path, row.line,
                         in_quotes(row.cells[1]) +
                             " may be a number with thousands or with decimals; write it without "
                             "marks, such as 1250 or 1.25");
        list.settings.push_back({row.cells[0], *value, row.line, row.cells[1]});
    }
    return list;
}

proto::Result<WordMap, FileError> read_word_map(const std::string& path) {
    const auto bytes = bytes_of(path);
    if (!bytes) return bytes.error();
    return word_map_in(bytes.value(), path);
}

proto::Result<WordMap, FileError> word_map_in(std::string_view bytes, const std::string& path) {
    const auto rows = rows_of(bytes, path);
    if (!rows) return rows.error();
    WordMap map{.file = path, .words = {}};
    for (const Row& row : rows.value()) {
        if (row.cells.size() < 2 || row.cells[1].empty())
            return wrong(path, row.line, "names no setting of ours; write their word, our setting, and - for none");
        WordMap::Word word{row.cells[0], row.cells[1], row.cells.size() > 2 ? row.cells[2] : std::string()};
        if (const WordMap::Word* known = map.find(word.theirs);
            known != nullptr && (known->ours != word.ours || known->unit != word.unit))
            return wrong(path, row.line,
                         in_quotes(word.theirs) +
                             " stands there twice for different settings or units; "
                             "write it once");
        map.words.push_back(std::move(word));
    }
    return map;
}

}  // namespace sim
