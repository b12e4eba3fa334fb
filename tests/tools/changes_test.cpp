// What is told as changed, put together with what was there before, is what there is now.
#include <doctest/doctest.h>

#include <algorithm>
#include <random>
#include <string>

#include "tools/text/changes.hpp"
#include "tools/text/json.hpp"

namespace {

using tools::Value;

/// The reader's side, as tools/pages/changes.js has it.
Value put_together(const Value& before, const Value& change) {
    const Value::List& parts = *change.list();
    const std::string how = tools::scalar_text(parts[0]);
    if (how == "0") return parts[1];
    if (how == "1") {
        Value::Object now = *before.object();
        for (const Value::Member& member : *parts[1].object()) {
            const auto found =
                std::find_if(now.begin(), now.end(), [&](const Value::Member& m) { return m.key == member.key; });
            if (found == now.end())
                now.push_back({member.key, put_together({}, member.value)});
            else
                found->value = put_together(found->value, member.value);
        }
        return now;
    }
    if (how == "2") {
        const auto gone = static_cast<std::ptrdiff_t>(std::stoul(tools::scalar_text(parts[1])));
        Value::List now(before.list()->begin() + gone, before.list()->end());
        now.insert(now.end(), parts.begin() + 2, parts.end());
        return now;
    }
    REQUIRE(how == "3");
    Value::List now = *before.list();
    for (std::size_t i = 1; i < parts.size(); ++i) {
        Value& place = now[std::stoul(tools::scalar_text((*parts[i].list())[0]))];
        place = put_together(place, (*parts[i].list())[1]);
    }
    return now;
}

Value some_value(std::mt19937& draw, int depth) {
    switch (draw() % (depth > 0 ? 7 : 4)) {
        case 0: return {};
        case 1: return static_cast<int>(draw() % 3);
        case 2: return draw() % 2 == 0;
        case 3: return std::string(draw() % 3, 'x');
        case 4:
        case 5: {
            Value::List list;
            for (auto i = draw() % 5; i > 0; --i) list.push_back(some_value(draw, depth - 1));
            return list;
        }
        default: {
            Value::Object object;
            for (unsigned i = 0; i < 4; ++i)
                if (draw() % 4 != 0)
                    object.push_back({std::string(1, static_cast<char>('a' + i)), some_value(draw, depth - 1)});
            return object;
        }
    }
}

std::string told(const Value& before, const Value& now) {
    const auto change = tools::changes_between(before, now);
    std::string text = change ? tools::to_json(*change) : "nothing";
    std::erase_if(text, [](char c) { return c == '\n' || c == ' '; });
    return text;
}

}  // namespace

TEST_CASE("whatever it was and is, the change leads from one to the other") {
    std::mt19937 draw(5);
    for (int i = 0; i < 20'000; ++i) {
        const Value before = some_value(draw, 3), now = some_value(draw, 3);
        const auto change = tools::changes_between(before, now);
        CHECK(change.has_value() == !tools::same(before, now));
        if (change) CHECK(tools::to_json(put_together(before, *change)) == tools::to_json(now));
        CHECK_FALSE(tools::changes_between(now, now));
    }
}

TEST_CASE("only what changed is told") {
    const Value before = Value::Object{{"a", 1}, {"list", Value::List{1, 2, 3}}, {"same", "x"}};
    CHECK(told(before, Value::Object{{"a", 2}, {"list", Value::List{2, 3, 4}}, {"same", "x"}}) ==
          R"([1,{"a":[0,2],"list":[2,1,4]}])");
    CHECK(told(Value::List{1, 2, 3}, Value::List{1, 5, 3}) == "[3,[1,[0,5]]]");
    CHECK(told(before, before) == "nothing");
    CHECK(told(Value::Object{{"a", 1}}, Value::Object{{"a", 1}, {"b", Value()}}) == R"([1,{"b":[0,null]}])");
    // a key that has gone
    CHECK(told(Value::Object{{"a", 1}, {"b", 2}}, Value::Object{{"a", 1}}) == R"([0,{"a":1}])");
}
