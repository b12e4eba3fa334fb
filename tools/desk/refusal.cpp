#include "tools/desk/refusal.hpp"

namespace tools {

Mend posting(std::string words, std::string path, Value::Object fields) {
    return {.words = std::move(words), .path = std::move(path), .fields = std::move(fields)};
}

Mend at_page(std::string words, std::string act, std::string value) {
    return {.words = std::move(words), .act = std::move(act), .value = std::move(value)};
}

Mend load_again() { return at_page("Load the page again", "reload"); }

Mend again(std::string words, std::string path, const Fields& asked, const Fields& altered) {
    Fields fields = altered;
    fields.insert(asked.begin(), asked.end());
    Value::Object posted;
    for (const auto& [key, value] : fields) posted.push_back({key, value});
    return posting(std::move(words), std::move(path), std::move(posted));
}

DeskAnswer refuse(Refused kind, std::string words, std::vector<Mend> mends) {
    if (rule_of(kind).mending == Mending::press && mends.empty()) mends.push_back(load_again());
    return {.refused = DeskAnswer::Refusal{kind, std::move(words)}, .mends = std::move(mends)};
}

Value told(const std::vector<Mend>& mends) {
    Value::List all;
    for (const Mend& mend : mends)
        all.push_back(mend.path.empty()
                          ? Value::Object{{"words", mend.words}, {"act", mend.act}, {"value", mend.value}}
                          : Value::Object{{"words", mend.words}, {"path", mend.path}, {"fields", mend.fields}});
    return all;
}

}  // namespace tools
