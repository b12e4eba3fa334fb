#include "tools/report/fits_schema.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <regex>

#include "proto/contract.hpp"
#include "tools/text/look_up.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

/// What a type of JSON Schema asks for: a whole number may be written with a point.
bool is_of(const Value& value, std::string_view type) {
    const Value::Content& content = value.content();
    if (type == "null") return std::holds_alternative<Value::Null>(content);
    if (type == "boolean") return std::holds_alternative<bool>(content);
    if (type == "string") return std::holds_alternative<std::string>(content);
    if (type == "array") return value.list() != nullptr;
    if (type == "object") return value.object() != nullptr;
    const std::optional<double> number = number_of(value);
    if (type == "number") return number.has_value();
    proto::require(type == "integer", "a schema with a type that is not known here");
    return number && std::floor(*number) == *number;
}

std::string shown(const Value& value) {
    constexpr std::size_t most = 40;
    if (value.list() != nullptr) return "a list";
    if (value.object() != nullptr) return "an object";
    if (is_null(value)) return "null";
    const std::string text = scalar_text(value);
    if (std::holds_alternative<std::string>(value.content()))
        return in_quotes(text.size() > most ? text.substr(0, most) + "..." : text);
    return text;
}

class Walk {
  public:
    /// False where it does not fit, and then `found` says where.
    bool fits(const Value& value, const Value& schema) {
        const Value::Object* const keywords = schema.object();
        proto::require(keywords != nullptr, "a schema that is no object");
        return std::all_of(keywords->begin(), keywords->end(),
                           [&](const Value::Member& one) { return fits(value, schema, one.key, one.value); });
    }
    Misfit found;

  private:
    bool wrong(const std::string& what) {
        found = {path_, what};
        return false;
    }

    bool fits(const Value& value, const Value& schema, std::string_view keyword, const Value& asked) {
        if (keyword == "type") return of_type(value, asked);
        if (keyword == "enum") return one_of(value, asked);
        if (keyword == "pattern") return of_pattern(value, asked.text());
        if (keyword == "minimum" || keyword == "maximum" || keyword == "exclusiveMinimum")
            return in_range(value, keyword, *number_of(asked));
        if (keyword == "maxItems")
            return value.list() == nullptr || static_cast<double>(value.list()->size()) <= *number_of(asked) ||
                   wrong("has more than " + scalar_text(asked) + " items");
        if (keyword == "items") return items(value, asked);
        if (keyword == "required") return required(value, asked);
        if (keyword == "properties") return properties(value, asked);
        if (keyword == "additionalProperties") return additional(value, look_up(schema, "properties"), asked);
        proto::require(keyword.starts_with("$") || keyword == "title" || keyword == "description",
                       "a schema with a keyword that is not known here");
        return true;
    }

    bool of_type(const Value& value, const Value& asked) {
        if (asked.list() == nullptr)
            return is_of(value, asked.text()) || wrong("is " + shown(value) + ", not of type " + scalar_text(asked));
        std::string types;
        for (const Value& type : *asked.list()) {
            if (is_of(value, type.text())) return true;
            types += (types.empty() ? "" : " or ") + scalar_text(type);
        }
        return wrong("is " + shown(value) + ", not of type " + types);
    }

    bool one_of(const Value& value, const Value& asked) {
        const auto same = [&](const Value& one) {
            return is_null(one) == is_null(value) && value.list() == nullptr && value.object() == nullptr &&
                   scalar_text(one) == scalar_text(value);
        };
        return std::any_of(items_of(asked).begin(), items_of(asked).end(), same) ||
               wrong("is " + shown(value) + ", none of the values that there are");
    }

    bool of_pattern(const Value& value, std::string_view pattern) {
        if (!std::holds_alternative<std::string>(value.content())) return true;
        // the matcher needs room for each letter
        constexpr std::size_t longest = 1000;
        const std::string_view text = value.text();
        const std::regex asked(pattern.begin(), pattern.end(), std::regex::ECMAScript);
        return (text.size() <= longest && std::regex_search(text.begin(), text.end(), asked)) ||
               wrong("is " + shown(value) + ", not as " + std::string(pattern));
    }

    bool in_range(const Value& value, std::string_view keyword, double limit) {
        const std::optional<double> number = number_of(value);
        if (!number) return true;
        const bool right = keyword == "minimum"   ? *number >= limit
                           : keyword == "maximum" ? *number <= limit
                                                  : *number > limit;
        return right || wrong("is " + shown(value) + ", out of range");
    }

    bool items(const Value& value, const Value& asked) {
        std::size_t place = 0;
        for (const Value& item : items_of(value))
            if (!below("[" + std::to_string(place++) + "]", item, asked)) return false;
        return true;
    }

    bool required(const Value& value, const Value& asked) {
        if (value.object() == nullptr) return true;
        for (const Value& key : items_of(asked))
            if (value.find(key.text()) == nullptr) return wrong("lacks " + in_quotes(std::string(key.text())));
        return true;
    }

    bool properties(const Value& value, const Value& asked) {
        if (value.object() == nullptr) return true;
        for (const auto& [key, member] : *value.object())
            if (const Value* const schema = asked.find(key))
                if (!below(key, member, *schema)) return false;
        return true;
    }

    bool additional(const Value& value, const Value& known, const Value& asked) {
        if (value.object() == nullptr || asked.is_true()) return true;
        for (const auto& [key, member] : *value.object()) {
            if (known.find(key) != nullptr) continue;
            if (asked.object() == nullptr) return wrong("has a key that there is not: " + in_quotes(key));
            if (!below(key, member, asked)) return false;
        }
        return true;
    }

    bool below(const std::string& key, const Value& value, const Value& schema) {
        const std::size_t before = path_.size();
        path_ += (before == 0 || key.starts_with("[") ? "" : ".") + key;
        const bool right = fits(value, schema);
        path_.resize(before);
        return right;
    }

    std::string path_;
};

}  // namespace

std::optional<Misfit> misfit(const Value& document, const Value& schema) {
    Walk walk;
    if (walk.fits(document, schema)) return std::nullopt;
    return walk.found;
}

}  // namespace tools
