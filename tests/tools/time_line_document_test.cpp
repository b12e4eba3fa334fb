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

TEST_CASE("a time line has each contact, and of each signal what was computed and what is used") {
    sim::Scenario s = one_signal();
    s.safeguards.resize(2);
    s.safeguards[0].name = "flap";
    s.safeguards[1].name = "pit_door";
    s.safeguards[1].at = End::device;
    sim::TimeLine line(s);
    line.hear(sim::Computed{End::controller, 1, Instant{} + milliseconds(10)});
    line.hear(sim::InUse{End::device, 1, Instant{} + milliseconds(20)});
    line.hear(sim::Contacted{1, false, Instant{} + milliseconds(30)});
    line.hear(sim::Computed{End::controller, 0, Instant{} + milliseconds(40)});
    line.hear(sim::InUse{End::device, 0, Instant{} + milliseconds(50)});
    line.hear(sim::Contacted{1, true, Instant{} + milliseconds(60)});
    line.finish(Instant{} + milliseconds(100));
    const tools::Value document = tools::describe(s, line);
    const auto told = [](const tools::Value& of, const char* key) {
        std::string text;
        for (const tools::Value& change : tools::look_up_list(of, key))
            text += tools::scalar_text(tools::look_up(change, "at_ms")) + ":" +
                    tools::scalar_text(tools::look_up(change, "value")) + " ";
        return text;
    };
    const tools::Value& signal = tools::look_up_list(document, "signals").at(0);
    CHECK(told(signal, "computed") == "10:1 40:0 ");
    CHECK(told(signal, "changes") == "20:1 50:0 ");
    CHECK(tools::look_up_text(signal, "computed_at") == "controller");
    CHECK(tools::look_up_text(signal, "used_at") == "device");
    const auto& contacts = tools::look_up_list(document, "contacts");
    REQUIRE(contacts.size() == 2);
    CHECK(told(contacts[0], "changes").empty());  // closed all the time
    CHECK(tools::look_up_text(contacts[1], "name") == "pit_door");
    CHECK(tools::look_up_text(contacts[1], "at") == "device");
    CHECK(told(contacts[1], "changes") == "30:0 60:1 ");
}
