#pragma once
// A JSON Schema of the files that people write, for their editors: the keys and kinds that the readers ask for, with
// the words of sim/reading/key_words. Draft 7, which what reads TOML in editors generally knows.
#include <string>
#include <vector>

#include "sim/reading/heard_keys.hpp"
#include "tools/text/value.hpp"

namespace tools {

/// What it refuses the readers refuse too; they refuse more: what must be there only beside something else, and all
/// that is a matter of values.
Value input_schema(sim::KeysOf file);

/// The tables of keys of the pages, in Markdown, each between its marks.
std::string key_tables(sim::KeysOf file);

/// What is forgotten: keys without words, and words without a key, as they are called in sim/reading/key_words; paths
/// of tables that no file of sim/reading/key_probes shows the inside of.
struct WordsAmiss {
    std::vector<std::string> keys, words, empty_tables;
};
WordsAmiss words_amiss(sim::KeysOf file);

}  // namespace tools
