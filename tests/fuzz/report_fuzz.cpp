// Documents of a folder that somebody bent by hand, for report: refused in one line, or the papers are made of what is
// there. The documents are those that tests/golden keeps; the input says which of their values become what. Input that
// begins with 0 is text instead, which is read as JSON.
#include <array>
#include <fstream>
#include <iterator>
#include <optional>
#include <vector>

#include "tests/fuzz/fuzz.hpp"
#include "tools/report/dossier.hpp"
#include "tools/report/papers.hpp"
#include "tools/text/json.hpp"

namespace {

using tools::Value;

struct Document {
    const char* kept;  ///< below tests/golden
    const char* name;
};
constexpr std::array<Document, 6> documents{
    {{"commands/dossier/out/result.json", "result.json"},
     {"commands/dossier/out/plant.json", "plant.json"},
     {"commands/dossier/out/response.json", "response.json"},
     {"commands/dossier/out/watchdog.json", "watchdog.json"},
     {"commands/dossier/out/residual.json", "residual.json"},
     {"scenarios/log_debarker/reduced_speed_only/out/timeline.json", "timeline.json"}}};

struct Original {
    std::string text;
    Value value;
};

const std::array<Original, documents.size()>& originals() {
    static const std::array<Original, documents.size()> read = [] {
        std::array<Original, documents.size()> all;
        for (std::size_t i = 0; i < documents.size(); ++i) {
            std::ifstream file(fuzz::source("tests/golden/") + documents[i].kept);
            all[i].text = {std::istreambuf_iterator<char>(file), {}};
            const auto value = tools::from_json(all[i].text);
            if (!value) fuzz::broken("a kept document is no JSON");
            all[i].value = value.value();
        }
        return all;
    }();
    return read;
}

Value other_value(fuzz::Input& input) {
    switch (input.below(12)) {
        case 0: return {};
        case 1: return true;
        case 2: return -1;
        case 3: return 0;
        case 4: return static_cast<std::int64_t>(input.number(8));
        case 5: return ~std::uint64_t{0};
        case 6: return 1e300;
        case 7: return -0.5;
        case 8: return "";
        case 9: return Value::List{};
        case 10: return Value::Object{};
        default: break;
    }
    const auto any = input.bytes(input.below(24));
    return fuzz::text_of(any.data(), any.size());
}

/// The value with another one in a place that the input walks to; nothing where it is left out.
std::optional<Value> bent(const Value& value, fuzz::Input& input) {
    const unsigned step = input.byte();
    constexpr unsigned on = 200;  // of 256: walk on
    if (const Value::Object* object = value.object(); object != nullptr && !object->empty() && step < on) {
        const unsigned which = input.below(object->size());
        Value::Object changed = *object;
        if (auto inner = bent(changed[which].value, input))
            changed[which].value = std::move(*inner);
        else
            changed.erase(changed.begin() + which);
        return changed;
    }
    if (const Value::List* list = value.list(); list != nullptr && !list->empty() && step < on) {
        const unsigned which = input.below(list->size());
        Value::List changed = *list;
        if (auto inner = bent(changed[which], input))
            changed[which] = std::move(*inner);
        else
            changed.erase(changed.begin() + which);
        return changed;
    }
    if (step == 255) return std::nullopt;
    return other_value(input);
}

void read_as_json(const std::string& text) {
    const auto value = tools::from_json(text);
    if (!value) {
        fuzz::expect_one_line(value.error());
        return;
    }
    const std::string once = tools::to_json(value.value());
    const auto again = tools::from_json(once);
    if (!again || tools::to_json(again.value()) != once) fuzz::broken("JSON that is not read back");
    if (!tools::from_json(tools::to_embedded_json(value.value()))) fuzz::broken("embedded JSON that is none");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    fuzz::Input input(data, size);
    const unsigned which = input.byte();  // a bit for each document that is there
    if (which == 0) {
        read_as_json(fuzz::text_of(input.rest().data(), input.rest().size()));
        return 0;
    }
    std::array<std::optional<Value>, documents.size()> changed;
    for (unsigned bends = input.below(6); bends > 0; --bends) {
        const unsigned one = input.below(documents.size());
        if (auto value = bent(changed[one] ? *changed[one] : originals()[one].value, input))
            changed[one] = std::move(*value);
    }
    std::vector<tools::EvidenceFile> files;
    for (std::size_t i = 0; i < documents.size(); ++i)
        if (i < 2 || (which >> i & 1U) != 0)
            files.push_back({documents[i].name, changed[i] ? tools::to_json(*changed[i]) : originals()[i].text});
    const auto dossier = tools::dossier_of("any", files);
    if (!dossier) {
        fuzz::expect_one_line(dossier.error().one_line());
        return 0;
    }
    if (tools::papers_of(dossier.value()).empty()) fuzz::broken("no papers of a dossier");
    return 0;
}
