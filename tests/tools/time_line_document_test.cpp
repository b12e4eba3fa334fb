#include "tools/run/time_line_document.hpp"

#include <doctest/doctest.h>

#include "sim/scenario/scenario.hpp"
#include "tools/text/json.hpp"
#include "tools/text/look_up.hpp"

using proto::End;
using proto::Instant;
using proto::milliseconds;

namespace {

sim::Scenario one_signal() {
    sim::Scenario s;
    s.file = "a.toml";
    sim::Signal signal;
    signal.name = "curtain_free";
    signal.direction = sim::Direction::to_device;
    s.signals = {signal};
    return s;
}

const tools::Value::List& changes_of(const tools::Value& document) {
    return tools::look_up_list(tools::look_up_list(document, "signals").at(0), "changes");
}

}  // namespace

TEST_CASE("a line of few changes is written whole and says nothing of thinning") {
    const sim::Scenario s = one_signal();
    sim::TimeLine line(s);
    for (int i = 0; i < 100; ++i)
        line.hear(sim::InUse{End::device, i % 2 == 0 ? 1U : 0U, Instant{} + milliseconds(10) * i});
    line.finish(Instant{} + milliseconds(1000));
    const tools::Value document = tools::describe(s, line);
    CHECK(changes_of(document).size() == 100);
    CHECK(tools::is_null(tools::look_up(document, "thinned")));
}

TEST_CASE("a line of many changes is thinned, says so, and keeps the short ones at its edges") {
    const sim::Scenario s = one_signal();
    sim::TimeLine line(s);
    constexpr int many = 50'000;
    for (int i = 0; i < many; ++i)
        line.hear(sim::InUse{End::device, i % 2 == 0 ? 1U : 0U, Instant{} + milliseconds(i)});
    // a quiet while, with one short dip in it
    line.hear(sim::InUse{End::device, 1, Instant{} + milliseconds(80'000)});
    line.hear(sim::InUse{End::device, 0, Instant{} + milliseconds(80'001)});
    line.hear(sim::InUse{End::device, 1, Instant{} + milliseconds(80'002)});
    line.finish(Instant{} + milliseconds(100'000));
    const tools::Value document = tools::describe(s, line, 1000);
    const auto& changes = changes_of(document);
    CHECK(changes.size() <= 1000);
    CHECK(changes.size() >= 300);
    const auto left_out = static_cast<std::size_t>(tools::look_up_number(document, "left_out").value_or(0));
    CHECK(left_out == many + 3 - changes.size());
    CHECK(tools::look_up_text(document, "thinned").find(std::to_string(left_out)) != std::string::npos);
    bool dip = false;
    for (const tools::Value& change : changes)
        if (tools::scalar_text(tools::look_up(change, "at_ms")) == "80001") dip = true;
    CHECK(dip);
    // in order, first and last as they were
    CHECK(tools::scalar_text(tools::look_up(changes.front(), "at_ms")) == "0");
    CHECK(tools::scalar_text(tools::look_up(changes.back(), "at_ms")) == "80002");
}
