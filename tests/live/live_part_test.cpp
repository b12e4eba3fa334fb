// The parts of a live link without sockets and clock: moved step by step, their logs must join into what one cell
// shows.
#include <algorithm>
#include <deque>
#include <variant>

#include <doctest/doctest.h>

#include "sim/drive/limits.hpp"
#include "sim/drive/rehearsal.hpp"
#include "sim/live/live_part.hpp"
#include "tests/support/live_table.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::Instant;
using proto::milliseconds;
using proto::seconds;
using sim::End;

template <class F>
std::size_t count(const sim::PartRecord& part) {
    return static_cast<std::size_t>(std::count_if(part.log.events.begin(), part.log.events.end(),
                                                  [](const auto& event) { return std::holds_alternative<F>(event); }));
}

}  // namespace

TEST_CASE("a part whose record of the begin is lost is told, with when, and whoever was there is not") {
    sim::Scenario s = tests::polled_link();
    s.duration = seconds(3);
    const sim::PartRecords whole = tests::LiveTable(s).run();
    const auto undisturbed = sim::join(s, 1, sim::limits_of(s), whole);
    REQUIRE(undisturbed);
    CHECK(undisturbed->away.empty());
    for (const sim::Part part : {sim::Part::controller, sim::Part::device}) {
        // what it wrote down before 1.5 s is lost, and its clock began again then
        sim::PartRecords parts = whole;
        auto& events = parts[static_cast<std::size_t>(part)].log.events;
        std::erase_if(events, [](const auto& e) { return sim::time_of(e) < Instant{} + milliseconds(1500); });
        for (sim::Event& event : events) std::visit([](auto& e) { e.at = e.at - milliseconds(1500); }, event);
        const auto joined = sim::join(s, 1, sim::limits_of(s), parts);
        REQUIRE(joined);
        const auto& away = joined->away;
        REQUIRE(away.size() == 1);
        CHECK(away.front().part == part);
        CHECK_FALSE(away.front().recorded);
        CHECK(away.front().until >= Instant{} + milliseconds(1400));
        CHECK(away.front().until <= Instant{} + milliseconds(1600));
    }
}

TEST_CASE("parts moved step by step join into the result of one cell") {
    sim::Scenario s = tests::polled_link();
    s.duration = seconds(3);
    const auto result = sim::join(s, 1, sim::limits_of(s), tests::LiveTable(s).run());
    REQUIRE(result);
    const sim::RunResult alone = sim::rehearse(s, 1);
    CHECK(result->link_started);
    CHECK(result->spurious_trips == 0);
    CHECK(result->dangerous.empty());
    CHECK(result->stops == alone.stops);
    CHECK(result->demands.size() == alone.demands.size());
    CHECK(result->controller.state == proto::State::running);
    CHECK(result->device.state == proto::State::running);
}

TEST_CASE("each fact is told by the part that it belongs to, and by no other") {
    sim::Scenario s = tests::polled_link();
    s.duration = seconds(4);
    s.demands = {{.safeguard = s.safeguards.front().name, .at = seconds(2), .lasting = milliseconds(500), .where = {}}};
    const sim::PartRecords parts = tests::LiveTable(s).run();
    const bool at_controller = s.safeguards.front().at == End::controller;
    CHECK(count<sim::Demanded>(parts[at_controller ? 0 : 2]) == 1);
    CHECK(count<sim::Demanded>(parts[1]) == 0);
    CHECK(count<sim::Demanded>(parts[at_controller ? 2 : 0]) == 0);
    REQUIRE(s.machine);
    const bool output_at_device = s.machine->at == End::device;
    CHECK(count<sim::MachineTold>(parts[output_at_device ? 2 : 0]) > 0);
    CHECK(count<sim::MachineTold>(parts[output_at_device ? 0 : 2]) == 0);
    CHECK(parts[0].shown.state == proto::State::running);
    const auto result = sim::join(s, 1, sim::limits_of(s), parts);
    REQUIRE(result);
    REQUIRE(result->demands.size() == 1);  // not one for each part
    CHECK(result->demands.front().response);
}
