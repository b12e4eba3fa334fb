// Values in documents: of a time line, and none where a scenario has none.
#include <doctest/doctest.h>

#include <string>

#include "tests/support/scenarios.hpp"
#include "tests/support/slow_values.hpp"
#include "tools/run/describe_values.hpp"
#include "tools/run/time_line_document.hpp"
#include "tools/text/look_up.hpp"

namespace {

using proto::End;
using proto::Instant;
using proto::milliseconds;

sim::ValueWord word(std::int64_t is, bool substitute) {
    sim::ValueWord made;
    made.is[0] = is;
    made.substitute = substitute ? 1 : 0;
    return made;
}

TEST_CASE("a time line tells of each value what was meant, what is used, and what only replaces it") {
    sim::Scenario s = tests::polled_link();
    tests::add_value(s, tests::speed_value("allowed_speed"), {});
    sim::TimeLine line(s);
    line.hear(sim::ValuesMeant{sim::Direction::to_device, word(12'500, false), true, Instant{} + milliseconds(10)});
    line.hear(sim::ValuesInUse{End::device, word(0, true), Instant{} + milliseconds(12)});
    line.hear(sim::ValuesInUse{End::device, word(12'500, false), Instant{} + milliseconds(20)});
    line.hear(sim::ValuesInUse{End::device, word(12'500, false), Instant{} + milliseconds(30)});
    line.hear(sim::ValuesInUse{End::device, word(0, true), Instant{} + milliseconds(50)});
    line.finish(Instant{} + milliseconds(100));
    const tools::Value document = tools::describe(s, line);
    const tools::Value& value = tools::look_up_list(document, "values").at(0);
    std::string told;
    for (const tools::Value& change : tools::look_up_list(value, "changes"))
        told += tools::scalar_text(tools::look_up(change, "at_ms")) + ":" +
                tools::scalar_text(tools::look_up(change, "value")) +
                (tools::look_up(change, "substitute").is_true() ? "s " : " ");
    CHECK(told == "20:12.5 50:0s ");  // before the first change it is replaced
    CHECK(tools::look_up_text(value, "meant_at") == "controller");
    CHECK(tools::look_up_text(value, "unit") == "mm/s");
    CHECK(tools::look_up_list(value, "meant").size() == 1);
}

TEST_CASE("documents of a scenario without values do not speak of any") {
    const sim::Scenario s = tests::polled_link();
    sim::TimeLine line(s);
    line.finish(Instant{} + milliseconds(100));
    CHECK(tools::is_null(tools::look_up(tools::describe(s, line), "values")));
    CHECK(tools::describe_value_map(s).empty());
}

TEST_CASE("quantities stand in documents as people write them") {
    CHECK(tools::in_documents(12'500, sim::ValueUnit::speed) == 12.5);
    CHECK(tools::in_documents(-500'000, sim::ValueUnit::none) == -0.5);
    CHECK(tools::in_documents(2'500'000, sim::ValueUnit::duration) == 2.5);
    CHECK(tools::unit_in_documents(sim::ValueUnit::none).empty());
    CHECK(tools::unit_in_documents(sim::ValueUnit::acceleration) == "mm/s2");
}

}  // namespace
