#include "tools/json.hpp"

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

}  // namespace

std::string to_json(const Value& value) {
    const Json json = std::visit(ToJson{}, value.content());
    return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace tools
