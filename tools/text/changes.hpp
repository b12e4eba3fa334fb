#pragma once
// What has changed between two states of the same thing, for readers that keep the last one. tools/pages/changes.js
// puts it back together.
#include <optional>

#include "tools/text/value.hpp"

namespace tools {

/// Nothing if they are written alike. Else a list whose first number says how the new one is made of the old:
///   [0, new]                  it is another one
///   [1, {key: change, ...}]   members of an object that changed, or are new
///   [2, count, new, ...]      a list without its first `count`, and with these at its end
///   [3, [place, change], ...] places of a list, counted from 0
std::optional<Value> changes_between(const Value& before, const Value& now);

/// Written alike: the same texts, numbers and keys in the same order.
bool same(const Value& one, const Value& other);

}  // namespace tools
