#include "tools/text/value.hpp"

#include <array>
#include <charconv>

namespace tools {

Value Value::list_of(const std::vector<std::string>& texts) {
    List list;
    for (const std::string& text : texts) list.emplace_back(text);
    return list;
}

const Value* Value::find(std::string_view key) const {
    if (const Object* members = object())
        for (const Member& member : *members)
            if (member.key == key) return &member.value;
    return nullptr;
}

std::string_view Value::text() const {
    const std::string* text = std::get_if<std::string>(&content_);
    return text ? std::string_view(*text) : std::string_view();
}

bool Value::is_true() const {
    const bool* truth = std::get_if<bool>(&content_);
    return truth && *truth;
}

std::string exact_ms(proto::Duration time) {
    const std::uint64_t size =
        time.ns < 0 ? 0U - static_cast<std::uint64_t>(time.ns) : static_cast<std::uint64_t>(time.ns);
    std::string out = std::to_string(size / 1'000'000);
    if (size % 1'000'000 != 0) {
        std::string decimals = std::to_string(1'000'000 + size % 1'000'000).substr(1);
        decimals.erase(decimals.find_last_not_of('0') + 1);
        out += "." + decimals;
    }
    return (time.ns < 0 ? "-" : "") + out;
}

namespace {

struct ToText {
    std::string operator()(Value::Null) const { return {}; }
    std::string operator()(bool value) const { return value ? "true" : "false"; }
    std::string operator()(std::int64_t value) const { return std::to_string(value); }
    std::string operator()(std::uint64_t value) const { return std::to_string(value); }
    std::string operator()(double value) const {
        std::array<char, 32> digits{};
        char* const end = std::to_chars(digits.data(), digits.data() + digits.size(), value).ptr;
        return {digits.data(), end};
    }
    std::string operator()(proto::Duration value) const { return exact_ms(value); }
    std::string operator()(const std::string& value) const { return value; }
    std::string operator()(const Value::List&) const { return {}; }
    std::string operator()(const Value::Object&) const { return {}; }
};

}  // namespace

std::string scalar_text(const Value& value) { return std::visit(ToText{}, value.content()); }

}  // namespace tools
