// Any bytes as the list of one end's settings, or as the words of a tool: refused in one line, or read, and then what
// is read can be written down and is read as the same again.
#include <string>

#include "sim/reading/csv_cells.hpp"
#include "sim/reading/setting_list.hpp"
#include "tests/fuzz/fuzz.hpp"

namespace {

std::string in_a_cell(const std::string& text) {
    std::string quoted = "\"";
    for (const char c : text) quoted += c == '"' ? "\"\"" : std::string(1, c);
    return quoted + "\"";
}

bool is_one_line(const std::string& text) { return text.find_first_of("\n\r") == std::string::npos; }

void look_at_list(const std::string& bytes) {
    const auto list = sim::setting_list_in(bytes, "list.csv");
    if (!list) return fuzz::expect_one_line(list.error().one_line());
    std::string written;
    int before = 0;
    for (const sim::ListedSetting& setting : list.value().settings) {
        if (setting.line <= before) fuzz::broken("settings that are not in the order of lines");
        before = setting.line;
        if (!is_one_line(setting.word) || !is_one_line(setting.value)) fuzz::broken("a cell of two lines");
        written += in_a_cell(setting.word) + ";" + in_a_cell(setting.value) + "\n";
    }
    if (written.empty()) return;
    const auto again = sim::setting_list_in(written, "again.csv");
    if (!again) fuzz::broken("what was read is refused as it is written");
    if (again.value().settings.size() != list.value().settings.size()) fuzz::broken("other settings");
    for (std::size_t i = 0; i < again.value().settings.size(); ++i) {
        const sim::ListedSetting &one = list.value().settings[i], &other = again.value().settings[i];
        if (one.word != other.word || one.value != other.value) fuzz::broken("another setting");
    }
}

void look_at_words(const std::string& bytes) {
    const auto map = sim::word_map_in(bytes, "words.csv");
    if (!map) return fuzz::expect_one_line(map.error().one_line());
    for (const sim::WordMap::Word& word : map.value().words) {
        const sim::WordMap::Word* found = map.value().find(word.theirs);
        if (found == nullptr || found->ours != word.ours || found->unit != word.unit)
            fuzz::broken("a word that is not found, or means another");
    }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string bytes = fuzz::text_of(data, size);
    look_at_list(bytes);
    look_at_words(bytes);
    const std::string line = bytes.substr(0, bytes.find('\n'));
    for (const char separator : {',', ';', '\t'}) {
        const auto cells = sim::cells_of(line, separator);
        if (cells && cells->empty()) fuzz::broken("a line without a cell");
    }
    return 0;
}
