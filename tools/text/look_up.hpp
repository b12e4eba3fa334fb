#pragma once
// Looking into documents that were read: what is not there is null, never an error.
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "tools/text/text.hpp"
#include "tools/text/value.hpp"

namespace tools {

bool is_null(const Value& value);

/// The member of that name, or null.
const Value& look_up(const Value& document, std::string_view key);
template <class... Keys>
const Value& look_up(const Value& document, std::string_view key, std::string_view next, Keys... keys) {
    return look_up(look_up(document, key), next, keys...);
}

template <class... Keys>
std::string look_up_text(const Value& document, Keys... keys) {
    return std::string(look_up(document, keys...).text());
}
/// Nothing for what is no number.
std::optional<double> number_of(const Value& value);
template <class... Keys>
std::optional<double> look_up_number(const Value& document, Keys... keys) {
    return number_of(look_up(document, keys...));
}
/// As a count: 0 for what is none, be it no number, negative or more than 2^53, up to which a double has every whole
/// one.
std::uint64_t count_of(std::optional<double> value);

/// The items of a list; none for anything else.
const Value::List& items_of(const Value& value);
template <class... Keys>
const Value::List& look_up_list(const Value& document, Keys... keys) {
    return items_of(look_up(document, keys...));
}

// ---- numbers as people read them; "-" for what is no number ----

/// With at most one decimal, rounded as said.
std::string tenths(const Value& value, Rounding rounding);
std::string tenths(std::optional<double> value, Rounding rounding);
/// Whole numbers as they are, others with three digits that count; far from 1 by powers of ten: "2.7e-8" as 2.7 and
/// its power in small digits.
std::string figure(std::optional<double> value);

}  // namespace tools
