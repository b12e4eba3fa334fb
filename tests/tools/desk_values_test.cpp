// What a refused value may have been meant to be, and what stands where it was typed.
#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "tools/desk/refusal.hpp"
#include "tools/desk/value_edit.hpp"

namespace {

using Words = std::vector<std::string>;

TEST_CASE("a refused value: what may have been meant is the bound, word, unit or base that is named or missing") {
    using tools::perhaps_meant;
    CHECK(perhaps_meant("80", "45 ms", R"("80" has no unit; write "80 ms")").front() == "80 ms");
    CHECK(perhaps_meant("0,08 s", "45 ms", "has a comma in its number").front() == "0.08 s");
    CHECK(perhaps_meant("80 MS", "45 ms", "has an unknown unit").front() == "80 ms");
    CHECK(perhaps_meant("400", "4", "400 is out of range; write 1 to 250") == Words{"250"});
    CHECK(perhaps_meant("0", "4", "0 is out of range; write 1 to 250") == Words{"1"});
    CHECK(perhaps_meant("5 ms", "45 ms", R"(5 ms is under the cycle (10 ms); write "20 ms" or more)").front() ==
          "20 ms");
    CHECK(perhaps_meant("streming", "polled", R"("streming" is none of polled, streaming; write one of them)") ==
          Words{"streaming"});
    CHECK(perhaps_meant("1A2B", "", R"("1A2B" is no number)") == Words{"0x1A2B"});
    CHECK(perhaps_meant("trp", "x", R"(did you mean "trip"?)") == Words{"trip"});
}

TEST_CASE("a refused value of which nothing is known is not guessed at") {
    using tools::perhaps_meant;
    CHECK(perhaps_meant("x", "polled", R"("x" is none of polled, streaming; write one of them)").empty());
    CHECK(perhaps_meant("2.5", "2", "2.5 is no whole number; write 1 to 4").empty());
    // the end of a range of addresses is nobody's address
    CHECK(perhaps_meant("70000", "0x31", "70000 is too wide; write 0x0 to 0xFFFF").empty());
    CHECK(perhaps_meant("", "", "").empty());
}

TEST_CASE("what is typed at a path is what the page was told of it") {
    using tools::Value;
    const Value links = Value::List{Value::Object{
        {"groups", Value::List{Value::Object{
                       {"rows", Value::List{Value::Object{
                                    {"meant", Value::Object{{"path", "link.watchdog"}, {"typed", "80 ms"}}},
                                    {"device", Value::Object{{"path", "device.watchdog"}, {"typed", Value()}}}}}}}}}}};
    CHECK(tools::typed_at(links, "link.watchdog") == "80 ms");
    CHECK(tools::typed_at(links, "device.watchdog") == "");
    CHECK_FALSE(tools::typed_at(links, "controller.watchdog"));
    CHECK(tools::is_same_typed(" \"80 ms\" ", "80 ms"));
    CHECK_FALSE(tools::is_same_typed("80 ms", "81 ms"));
}

TEST_CASE("a refusal that a press mends is never without a button") {
    for (const tools::RefusalRule& rule : tools::refusal_rules) {
        const tools::DeskAnswer answer = tools::refuse(rule.kind, "why");
        CHECK(answer.mends.empty() == (rule.mending != tools::Mending::press));
        CHECK_FALSE(rule.name.empty());
    }
}

}  // namespace
