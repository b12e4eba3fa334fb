#include "tools/text/json.hpp"

#include <nlohmann/json.hpp>

namespace tools {
namespace {

using Json = nlohmann::ordered_json;

struct ToJson {
    Json operator()(Value::Null) const { return nullptr; }
    Json operator()(bool value) const { return value; }
    Json operator()(std::int64_t value) const { return value; }
    Json operator()(std::uint64_t value) const { return value; }
    Json operator()(double value) const { return value; }
    // The nearest double to ns/10^6 prints as that very decimal: the library writes the shortest one that reads back.
    Json operator()(proto::Duration value) const {
        if (value.ns % 1'000'000 == 0) return value.ns / 1'000'000;
        return static_cast<double>(value.ns) / 1e6;
    }
    Json operator()(const std::string& value) const { return value; }
    Json operator()(const Value::List& list) const {
        Json out = Json::array();
        for (const Value& item : list) out.push_back(std::visit(*this, item.content()));
        return out;
    }
    Json operator()(const Value::Object& members) const {
        Json out = Json::object();
        for (const Value::Member& member : members) out[member.key] = std::visit(*this, member.value.content());
        return out;
    }
};

Value value_of(const Json& json) {
    switch (json.type()) {
        case Json::value_t::boolean: return json.get<bool>();
        case Json::value_t::number_integer: return json.get<std::int64_t>();
        case Json::value_t::number_unsigned: return json.get<std::uint64_t>();
        case Json::value_t::number_float: return json.get<double>();
        case Json::value_t::string: return json.get<std::string>();
        case Json::value_t::array: {
            Value::List list;
            for (const Json& item : json) list.push_back(value_of(item));
            return list;
        }
        case Json::value_t::object: {
            Value::Object object;
            for (const auto& [key, item] : json.items()) object.push_back({key, value_of(item)});
            return object;
        }
        case Json::value_t::null:
        case Json::value_t::binary:
        case Json::value_t::discarded: return {};
    }
    return {};
}

/// How deep a document may nest: what linkdrill writes has about six levels.
constexpr int levels_max = 64;

}  // namespace

std::string to_embedded_json(const Value& value) {
    const Json json = std::visit(ToJson{}, value.content());
    std::string out;
    for (const char c : json.dump(-1, ' ', true, Json::error_handler_t::replace)) {
        if (c == '<')
            out += "\\u003c";
        else if (c == '&')
            out += "\\u0026";
        else
            out += c;
    }
    return out;
}

proto::Result<Value, std::string> from_json(std::string_view text) {
    bool too_deep = false;
    const auto watch = [&](int depth, Json::parse_event_t, Json&) {
        too_deep = too_deep || depth > levels_max;
        return !too_deep;
    };
    try {
        const Json json = Json::parse(text, watch);
        if (too_deep) return std::string("nests deeper than anything that linkdrill writes");
        return value_of(json);
    } catch (const Json::exception&) {
        return std::string("is no JSON document, or not a whole one");
    }
}

std::string to_json(const Value& value) {
    const Json json = std::visit(ToJson{}, value.content());
    return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace tools
