#include "tools/text/changes.hpp"

#include <algorithm>
#include <type_traits>

namespace tools {
namespace {

enum How : int { replaced, members, shifted, places };

Value replaced_by(const Value& now) { return Value::List{int{replaced}, now}; }

bool same_lists(const Value::List& one, std::size_t from, const Value::List& other, std::size_t count) {
    return std::equal(one.begin() + static_cast<std::ptrdiff_t>(from),
                      one.begin() + static_cast<std::ptrdiff_t>(from + count), other.begin(), same);
}

/// Nothing if a key has gone, or keys stand in another order.
std::optional<Value::Object> changed_members(const Value::Object& before, const Value::Object& now) {
    Value::Object changed;
    std::size_t at = 0;
    for (const Value::Member& member : now) {
        if (at == before.size()) {
            changed.push_back({member.key, replaced_by(member.value)});
            continue;
        }
        if (before[at].key != member.key) return std::nullopt;
        if (auto change = changes_between(before[at].value, member.value))
            changed.push_back({member.key, std::move(*change)});
        ++at;
    }
    if (at < before.size()) return std::nullopt;
    return changed;
}

/// How many of the first are gone, if the rest goes on in the new one; nothing if none of it does.
std::optional<std::size_t> gone_from(const Value::List& before, const Value::List& now) {
    for (std::size_t gone = 0; gone < before.size(); ++gone) {
        const std::size_t left = before.size() - gone;
        if (left <= now.size() && same_lists(before, gone, now, left)) return gone;
    }
    return std::nullopt;
}

Value changed_list(const Value::List& before, const Value::List& now) {
    if (const auto gone = gone_from(before, now)) {
        Value::List change{int{shifted}, std::uint64_t{*gone}};
        change.insert(change.end(), now.begin() + static_cast<std::ptrdiff_t>(before.size() - *gone), now.end());
        return change;
    }
    if (before.size() != now.size()) return replaced_by(now);
    Value::List change{int{places}};
    for (std::size_t i = 0; i < now.size(); ++i)
        if (auto one = changes_between(before[i], now[i]))
            change.emplace_back(Value::List{std::uint64_t{i}, std::move(*one)});
    return change;
}

}  // namespace

bool same(const Value& one, const Value& other) {
    return std::visit(
        [](const auto& a, const auto& b) {
            using A = std::decay_t<decltype(a)>;
            if constexpr (!std::is_same_v<A, std::decay_t<decltype(b)>>) {
                return false;
            } else if constexpr (std::is_same_v<A, Value::Null>) {
                return true;
            } else if constexpr (std::is_same_v<A, Value::List>) {
                return a.size() == b.size() && same_lists(a, 0, b, a.size());
            } else if constexpr (std::is_same_v<A, Value::Object>) {
                return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](const auto& x, const auto& y) {
                    return x.key == y.key && same(x.value, y.value);
                });
            } else {
                return a == b;
            }
        },
        one.content(), other.content());
}

std::optional<Value> changes_between(const Value& before, const Value& now) {
    if (before.object() != nullptr && now.object() != nullptr) {
        auto changed = changed_members(*before.object(), *now.object());
        if (!changed) return replaced_by(now);
        if (changed->empty()) return std::nullopt;
        return Value::List{int{members}, std::move(*changed)};
    }
    if (same(before, now)) return std::nullopt;
    if (before.list() != nullptr && now.list() != nullptr && !before.list()->empty())
        return changed_list(*before.list(), *now.list());
    return replaced_by(now);
}

}  // namespace tools
