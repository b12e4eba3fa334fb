// The schema of what people write: nothing that a reader asks for is left out, and everything has words.
#include "tools/keys/input_schema.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "sim/reading/heard_keys.hpp"
#include "sim/reading/read.hpp"
#include "tools/text/json.hpp"

namespace {

namespace fs = std::filesystem;
using Kind = sim::KeyShape::Kind;

std::string joined(const std::vector<std::string>& all) {
    std::string text;
    for (const std::string& one : all) text += one + " ";
    return text;
}

/// Every file that ships, and those of the tests.
std::vector<fs::path> all_files() {
    std::vector<fs::path> files;
    for (const char* folder : {"scenarios", "tests"})
        for (const auto& entry : fs::recursive_directory_iterator(fs::path(LINKDRILL_SOURCE_DIR) / folder))
            if (entry.path().extension() == ".toml" && entry.path().filename() != "actions.toml")
                files.push_back(entry.path());
    std::sort(files.begin(), files.end());
    return files;
}

bool holds(const sim::HeardKeys& keys, const std::string& path, Kind kind) {
    const sim::HeardKeys::Shapes* shapes = keys.find(path);
    return shapes != nullptr &&
           std::any_of(shapes->begin(), shapes->end(), [&](const sim::KeyShape& s) { return s.kind == kind; });
}

/// Whether the schema's shape of a key takes all that this reader took.
bool takes_all(const sim::HeardKeys& keys, const std::string& path, const sim::KeyShape& heard) {
    const sim::HeardKeys::Shapes* shapes = keys.find(path);
    if (shapes == nullptr) return false;
    // a text is what is typed; something narrower is what it must be
    if (heard.kind == Kind::text && (holds(keys, path, Kind::choice) || holds(keys, path, Kind::quantity))) return true;
    for (const sim::KeyShape& shape : *shapes) {
        if (shape.kind != heard.kind) continue;
        const bool words = std::all_of(heard.words.begin(), heard.words.end(), [&](const std::string& word) {
            return std::find(shape.words.begin(), shape.words.end(), word) != shape.words.end();
        });
        return words && shape.low <= heard.low && shape.high >= heard.high && shape.least <= heard.least &&
               shape.most >= heard.most && (heard.above_zero || !shape.above_zero) &&
               (shape.largest == 0 || (heard.largest != 0 && shape.largest >= heard.largest));
    }
    return false;
}

}  // namespace

TEST_CASE("every key of the input schemas has words, and no words are of a key that nobody asks for") {
    for (const sim::KeysOf file :
         {sim::KeysOf::scenario, sim::KeysOf::profile, sim::KeysOf::module, sim::KeysOf::drill}) {
        const tools::WordsAmiss amiss = tools::words_amiss(file);
        CHECK(joined(amiss.keys) == "");
        CHECK(joined(amiss.words) == "");
        // what is laid over a drill and its plant is described by itself
        CHECK(joined(amiss.empty_tables) == (file == sim::KeysOf::drill ? "scenario variant " : ""));
    }
}

TEST_CASE("what readers ask real files for stands in the schema, as they ask for it") {
    const sim::HeardKeys scenario = sim::keys_of(sim::KeysOf::scenario), profile = sim::keys_of(sim::KeysOf::profile),
                         drill = sim::keys_of(sim::KeysOf::drill), module = sim::keys_of(sim::KeysOf::module);
    unsigned files = 0, keys = 0;
    for (const fs::path& file : all_files()) {
        const auto kind = sim::kind_of_file(file.string());
        if (!kind) continue;
        std::ifstream in(file, std::ios::binary);
        const std::string text((std::istreambuf_iterator<char>(in)), std::istreambuf_iterator<char>());
        sim::HeardKeys heard;
        sim::hear_keys(text, file.string(), heard);
        CHECK(heard.all().size() > 4);
        ++files;
        for (const auto& [path, shapes] : heard.all()) {
            const bool of_plant = kind.value() == sim::FileKind::drill && path.starts_with("scenario.");
            const sim::HeardKeys& known = of_plant                                 ? scenario
                                          : kind.value() == sim::FileKind::drill   ? drill
                                          : kind.value() == sim::FileKind::module  ? module
                                          : kind.value() == sim::FileKind::profile ? profile
                                                                                   : scenario;
            const std::string key = of_plant ? path.substr(std::string("scenario.").size()) : path;
            for (const sim::KeyShape& shape : shapes) {
                if (shape.kind == Kind::named) continue;
                ++keys;
                CAPTURE(file.string());
                CAPTURE(key);
                CAPTURE(static_cast<int>(shape.kind));
                CHECK(takes_all(known, key, shape));
            }
        }
    }
    CHECK(files >= 70);
    CHECK(keys > 10'000);
}

TEST_CASE("what is asked for is heard with its limits, wherever it stands") {
    const sim::HeardKeys keys = sim::keys_of(sim::KeysOf::scenario);
    CHECK(takes_all(keys, "link.payload", sim::KeyShape::integer(1, 250)));
    CHECK_FALSE(takes_all(keys, "link.payload", sim::KeyShape::integer(1, 251)));
    CHECK(holds(keys, "link[].device.scan", Kind::quantity));
    CHECK(holds(keys, "link[].controller.watchdog", Kind::quantity));
    CHECK(holds(keys, "machine[].stopping.measured", Kind::text));
    CHECK(holds(keys, "controller.values.*.type", Kind::choice));
    CHECK(holds(keys, "bits.*", Kind::pattern));
    CHECK(keys.find("colour") == nullptr);
}

TEST_CASE("a schema is one document, and its references lead somewhere") {
    for (const sim::KeysOf file : {sim::KeysOf::scenario, sim::KeysOf::profile, sim::KeysOf::drill}) {
        const tools::Value schema = tools::input_schema(file);
        const tools::Value* definitions = schema.find("definitions");
        REQUIRE(definitions != nullptr);
        std::vector<std::string> names;
        for (const auto& member : *definitions->object()) names.push_back(member.key);
        const std::size_t all = names.size();
        std::sort(names.begin(), names.end());
        names.erase(std::unique(names.begin(), names.end()), names.end());
        CHECK(names.size() == all);
        const std::string text = tools::to_json(schema);
        const std::string mark = "#/definitions/";
        for (std::size_t at = text.find(mark); at != std::string::npos; at = text.find(mark, at + 1)) {
            const std::size_t begin = at + mark.size();
            const std::string name = text.substr(begin, text.find('"', begin) - begin);
            CHECK(std::binary_search(names.begin(), names.end(), name));
        }
    }
}
