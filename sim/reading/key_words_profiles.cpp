// Telegram profiles.
#include "sim/reading/key_words.hpp"

namespace sim {
namespace {

constexpr KeyRow profile_rows[] = {
    {"name", "what reports call it", "the file's name"},
    {"shows", "what it is for", "empty"},
    {"payload", "bytes, 1 to 250; an end may type another", "8"},
    {"address", "`{ presence, bits }`: source and destination, each of 1 to 32 bits", "absent"},
    {"sequence", "`{ presence, bits }`: the sequence number, 1 to 32 bits", "absent"},
    {"direction", "presence", R"(`"carried"`)"},
    {"feedback", "`true`: a field with the number accepted last", "`false`"},
    {"time_stamp",
     R"(`{ bits = 16, unit = "0.1 ms", kind = "echo" }`, 8 to 32 bits. `echo`: own stamp and the echo of the peer's, which shows the age of a round trip. `clock`: the sender's clock alone, which shows the age of one way; the offset is measured in the handshake)",
     R"(none; `kind` `"echo"`)"},
    {"crc",
     "a name of the public catalogue (`linkdrill crc --list`), or `{ width, polynomial, initial, reflect_in, "
     "reflect_out, final_xor }`",
     "needed"},
    {"zero_as_one", "a CRC result of 0 is sent as 1", "`false`"},
    {"copies", "2: the second is the inverse of the first", "1"},
};

constexpr KeyRow profile_inside[] = {
    {"address.presence sequence.presence", "whether it is in the bytes, only in the CRC, or nowhere", "needed"},
    {"address.bits sequence.bits", "its width", "needed unless absent"},
    {"time_stamp.bits", "its width", "needed"},
    {"time_stamp.unit", "one count", R"(`"0.1 ms"`)"},
    {"time_stamp.kind", "whose stamp it is", R"(`"echo"`)"},
    {"crc.width", "its bits", "needed"},
    {"crc.polynomial", "without its leading term", "needed"},
    {"crc.initial crc.final_xor", "as the public catalogue has it", "`0`"},
    {"crc.reflect_in", "bytes are taken lowest bit first", "`false`"},
    {"crc.reflect_out", "the result is turned round", "as `reflect_in`"},
};

constexpr KeyTable tables[] = {{"profile", "", "key | meaning | default", profile_rows}, {"", "", "", profile_inside}};

}  // namespace

std::span<const KeyTable> words_of_profiles() { return tables; }

}  // namespace sim
