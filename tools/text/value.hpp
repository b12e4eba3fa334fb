#pragma once
// A result as a tree of named values, in the order in which they are to be read. Every writer (JSON, CSV, JUnit) walks
// this tree, so that each key is written down once.
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include "proto/time.hpp"

namespace tools {

/// A template, so that it may be named in Value before Value is complete.
template <class V>
struct NamedValue {
    std::string key;
    V value;
};

class Value {
  public:
    using Member = NamedValue<Value>;
    using List = std::vector<Value>;
    using Object = std::vector<Member>;
    struct Null {};
    /// A Duration is written in milliseconds, in decimal. Keys of such values end in "_ms".
    using Content =
        std::variant<Null, bool, std::int64_t, std::uint64_t, double, proto::Duration, std::string, List, Object>;

    Value() = default;
    Value(bool value) : content_(value) {}
    Value(int value) : content_(std::int64_t{value}) {}
    Value(std::int64_t value) : content_(value) {}
    Value(std::uint64_t value) : content_(value) {}
    Value(unsigned value) : content_(std::uint64_t{value}) {}
    Value(double value) : content_(value) {}
    Value(proto::Duration value) : content_(value) {}
    Value(std::string value) : content_(std::move(value)) {}
    Value(std::string_view value) : content_(std::string(value)) {}
    Value(const char* value) : content_(std::string(value)) {}
    Value(List value) : content_(std::move(value)) {}
    Value(Object value) : content_(std::move(value)) {}

    /// Null where there is none.
    template <class T>
    static Value of(const std::optional<T>& value) {
        return value ? Value(*value) : Value();
    }
    /// Null where the text is empty.
    static Value text_or_null(std::string_view text) { return text.empty() ? Value() : Value(text); }
    static Value list_of(const std::vector<std::string>& texts);

    [[nodiscard]] const Content& content() const { return content_; }
    /// The member of that name of an object, or nullptr.
    [[nodiscard]] const Value* find(std::string_view key) const;
    /// The string, or "" for anything else.
    [[nodiscard]] std::string_view text() const;
    [[nodiscard]] const List* list() const { return std::get_if<List>(&content_); }
    [[nodiscard]] const Object* object() const { return std::get_if<Object>(&content_); }
    [[nodiscard]] bool is_true() const;

  private:
    Content content_;
};

/// A scalar as text: numbers in decimal and exact, durations in milliseconds, "" for null, lists and objects.
std::string scalar_text(const Value& value);

/// Milliseconds in decimal, exact to the nanosecond, without trailing zeros: "0.2", "135".
std::string exact_ms(proto::Duration time);

}  // namespace tools
