// A payload module.
#include "sim/reading/key_words.hpp"

namespace sim {
namespace {

constexpr KeyRow module_rows[] = {
    {"name", "what reports call it", "the file's name"},
    {"shows", "what it is for", "empty"},
    {"to_device to_controller", "its length in bytes, 1 to 250", "needed"},
    {"field",
     "`[[field]]`: each bit or value that it describes; of a way without fields nothing but the length is known",
     "none"},
};

constexpr KeyRow field_rows[] = {
    {"name", "what people call it", "needed"},
    {"direction", R"(`"to-device"` or `"to-controller"`)", "needed"},
    {"type", R"(`"bit"`, or the type of a value)", R"(`"bit"`)"},
    {"at", R"(`"BYTE.BIT"`, or a value's first byte)", "needed"},
};

constexpr KeyTable tables[] = {{"module", "", "key | meaning | default", module_rows},
                               {"field", "field.", "key of a `[[field]]` | meaning | default", field_rows}};

}  // namespace

std::span<const KeyTable> words_of_modules() { return tables; }

}  // namespace sim
