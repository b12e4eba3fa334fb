// States and causes as people read them.
#include <set>
#include <string_view>

#include <doctest/doctest.h>

#include "proto/endpoint.hpp"

namespace {

/// How many values from the first on have names of their own, each said to be `?` from there on.
template <class Enum>
unsigned named() {
    std::set<std::string_view> names;
    unsigned count = 0;
    for (; name_of(static_cast<Enum>(count)) != "?"; ++count)
        CHECK(names.insert(name_of(static_cast<Enum>(count))).second);
    CHECK(name_of(static_cast<Enum>(255)) == "?");
    return count;
}

}  // namespace

TEST_CASE("each state and each cause of a change has a name of its own, and no other number has one") {
    CHECK(named<proto::State>() == static_cast<unsigned>(proto::State::awaiting_acknowledgement) + 1);
    CHECK(named<proto::Cause>() == static_cast<unsigned>(proto::Cause::start_failed) + 1);
    CHECK(named<proto::Refusal>() == proto::refusal_count);
}
