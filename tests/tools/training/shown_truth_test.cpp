// What is shown at a drill is true: figures, times and pictures, on the panels, in the time line and in the debrief.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "sim/reading/read_drill.hpp"
#include "tests/support/drills.hpp"
#include "tests/support/works.hpp"
#include "tools/training/exercise_readings.hpp"

namespace {

using proto::Instant;
using tools::ActFields;
using tools::ExerciseMode;

using tests::drills;
Instant at(double seconds) { return {static_cast<std::int64_t>(seconds * 1e9)}; }

tools::Exercise exercise(unsigned number) {
    return {*drills().find(number), drills().cards, ExerciseMode::practice, at(0), 0};
}
void do_it(tools::Exercise& one, const ActFields& fields) { REQUIRE_FALSE(one.act(fields)); }

constexpr unsigned all_drills = 23;  // of one link
constexpr const char* all_instruments[] = {"controller-panel", "io-panel", "time-line",
                                           "telegrams",        "settings", "neighbour"};

tools::Exercise looked_at(unsigned number) {
    auto one = exercise(number);
    for (const char* instrument : all_instruments) do_it(one, {{"act", "instrument"}, {"value", instrument}});
    return one;
}
double number_in(const tools::Value& value) { return std::stod(tools::scalar_text(value)); }
bool is_null(const tools::Value* value) { return std::holds_alternative<tools::Value::Null>(value->content()); }

/// Looks for that long, and does what ends the drill.
tools::Value debrief_of(unsigned number, const std::vector<unsigned>& guards) {
    auto one = looked_at(number);
    double seconds = 0;
    const auto look = [&] {
        for (int i = 0; i < 40; ++i) one.run_on(at(seconds += 0.1));
    };
    for (const unsigned guard : guards) {
        do_it(one, {{"act", "demand"}, {"value", std::to_string(guard)}});
        look();
    }
    tests::do_and_hand_over(one, "lock-out,call-engineer");
    if (one.warned()) do_it(one, {{"act", "understood"}});
    REQUIRE(one.over());
    return tools::debrief_state(one);
}
std::vector<std::string> told_in(const tools::Value& debrief) {
    std::vector<std::string> what;
    for (const tools::Value& event : *debrief.find("story")->list()) what.emplace_back(event.find("what")->text());
    return what;
}
bool tells(const tools::Value& debrief, const std::string& what) {
    const std::vector<std::string> told = told_in(debrief);
    return std::find(told.begin(), told.end(), what) != told.end();
}
/// What row `i` of the samples held: "1" or "0" for each, without repeats.
std::string course_of(const tools::Value& samples, std::size_t at, unsigned bit) {
    std::string course;
    for (const tools::Value& sample : *samples.list()) {
        const auto bits = static_cast<unsigned>(number_in((*sample.list())[at]));
        const char now = (bits >> bit & 1) != 0 ? '1' : '0';
        if (course.empty() || course.back() != now) course += now;
    }
    return course;
}

}  // namespace

TEST_CASE("no panel shows what its end cannot know, and nothing of a dead link looks alive") {
    for (unsigned number = 1; number <= all_drills; ++number) {
        CAPTURE(number);
        auto one = looked_at(number);
        const tools::Value state = tools::exercise_state(one, true);
        const bool stamped = one.bench().scenario().controller.link.profile.time_stamp_bits > 0;
        const bool polled = one.bench().scenario().controller.link.exchange == proto::Exchange::polled;
        CHECK(stamped == (number == 18 || number == 19));
        for (const char* end : {"controller", "io"}) {
            CAPTURE(end);
            const tools::Value& panel = *state.find(end);
            CHECK((panel.find("age_ms") != nullptr) == stamped);
            CHECK((panel.find("trip_ms") != nullptr) == (polled && std::string(end) == "controller"));
            for (const auto& [last, as_of] : {std::pair{"age_ms", "age_as_of"}, std::pair{"trip_ms", "trip_as_of"}}) {
                if (panel.find(last) == nullptr || is_null(panel.find(last))) continue;
                const tools::Value& good = *panel.find("last_good_ms");
                if (is_null(&good)) continue;
                const bool dead = number_in(good) > number_in(*panel.find("watchdog_ms"));
                CHECK(is_null(panel.find(as_of)) == !dead);
            }
        }
        const auto refusal = one.act({{"act", "keep"}, {"value", "ages"}});
        CHECK(refusal.has_value() == !stamped);
        CHECK(one.act({{"act", "keep"}, {"value", "round-trips"}}).has_value() == !polled);
    }
}

TEST_CASE("what a drill takes as evidence can be kept there") {
    for (unsigned number = 1; number <= all_drills; ++number) {
        CAPTURE(number);
        auto one = looked_at(number);
        do_it(one, {{"act", "demand"}, {"value", "0"}});
        for (const std::string& reading : drills().find(number)->evidence) {
            CAPTURE(reading);
            CHECK_FALSE(one.act({{"act", "keep"}, {"value", reading}}));
        }
    }
}

TEST_CASE("story, panels, counters and time line have one time") {
    for (unsigned number = 1; number <= all_drills; ++number) {
        CAPTURE(number);
        auto one = looked_at(number);
        const sim::Drill& drill = one.drill();
        const tools::Value state = tools::exercise_state(one, true);
        const double now = number_in(*state.find("plant_time"));
        const tools::Value::List& events = *state.find("time_line")->find("events")->list();
        REQUIRE_FALSE(events.empty());
        CHECK(events.front().find("what")->text() == "record-begins");
        const double begins = number_in(*events.front().find("at"));
        CHECK(begins < now);
        for (const tools::Value& event : events) CHECK(number_in(*event.find("at")) >= begins);
        CHECK(number_in((*state.find("time_line")->find("strip")->list()).front().list()->front()) >= begins);
        for (const unsigned at : {0U, 1U}) {
            const char* const end = at == 0 ? "controller" : "io";
            CAPTURE(end);
            const tools::Value& panel = *state.find(end);
            const double on_for = number_in(*panel.find("on_for_s")), counted = number_in(*panel.find("counted_since"));
            // an end that was on before the record met the link there as it was: no start is on it
            CHECK(counted >= begins);
            CHECK(on_for + 1 >= now - counted);
            // what came since then came once a cycle at most, and from the neighbour or a stranger besides
            const double cycle = static_cast<double>(one.bench().scenario().controller.link.cycle.ns) / 1e9;
            CHECK(number_in(*panel.find("accepted")) <= (now - counted) / cycle + 2);
            const bool long_on = drill.on_for[at] >= proto::seconds(86400);
            const bool restarted = one.bench().panel(static_cast<sim::End>(at)).starts > 1;
            CHECK(number_in(*panel.find("starts")) == (long_on ? 0 : 1) + (restarted ? 1 : 0));
        }
        // whoever was switched on with the run is seen to start
        bool started = false;
        for (const tools::Value& event : events) started = started || event.find("what")->text() == "machine-started";
        const bool switched_on = drill.on_for[0] == proto::Duration{} || drill.on_for[1] == proto::Duration{};
        CHECK(started == switched_on);
        CHECK(state.find("minutes") == nullptr);
        if (one.bench().scenario().machine) {
            const double position = number_in(*state.find("machine")->find("position"));
            CHECK(position >= 0);
            CHECK(position * 1000 <= static_cast<double>(one.bench().scenario().machine->travel_um));
        }
    }
}

TEST_CASE("the time line keeps the stop, its states and its signals, however late it is opened") {
    auto one = exercise(8);
    for (int i = 0; i < 450; ++i) one.run_on(at(i * 0.1));
    do_it(one, {{"act", "instrument"}, {"value", "time-line"}});
    const tools::Value strip = *tools::time_line_reading(one, one.bench()).find("strip");
    const double stop = static_cast<double>(one.bench().first_stop(sim::End::device)->ns) / 1e9;
    const double now = static_cast<double>(one.bench().now().ns) / 1e9;
    CHECK(now - stop > 45);
    double before = 0, after = 0, last = 0;
    for (const tools::Value& sample : *strip.list()) {
        const double when = number_in(sample.list()->front());
        CHECK(when >= last);
        last = when;
        if (when <= stop) before = when;
        if (after == 0 && when > stop) after = when;
        REQUIRE(sample.list()->size() == 8);
    }
    CHECK(after - before <= 0.051);
    CHECK(now - last < 0.2);
    CHECK(strip.list()->size() < 320);
    // both ends ran before, and none after
    CHECK(number_in(strip.list()->front().list()->back()) == 5);
    CHECK(number_in(strip.list()->back().list()->back()) == 10);
}

TEST_CASE("whose address a rejected telegram fits is told when all is over, and not before") {
    auto one = looked_at(8);
    const tools::Value before = tools::telegrams_reading(one, one.bench());
    for (const char* which : {"around_stop", "latest"})
        for (const tools::Value& telegram : *before.find(which)->list()) CHECK(is_null(telegram.find("fits")));
    const tools::Value neighbour = tools::neighbour_reading(one);
    REQUIRE(neighbour.list()->size() == 2);
    CHECK(number_in(*(*neighbour.list())[1].find("address")->find("value")) == 0x22);
    CHECK(neighbour.list()->front().find("number_sent") != nullptr);
    tests::do_and_hand_over(one, "lock-out,call-engineer");
    bool told = false;
    const tools::Value after = tools::telegrams_reading(one, one.bench());
    for (const tools::Value& telegram : *after.find("latest")->list()) told = told || !is_null(telegram.find("fits"));
    CHECK(told);
}

TEST_CASE("a debrief draws what the lesson is, also where no end stopped") {
    for (const unsigned number : {13U, 15U, 16U, 17U, 23U}) {
        CAPTURE(number);
        const tools::Value untouched = debrief_of(number, {});
        CHECK(untouched.find("strip")->find("of")->text() == "begin");
        CHECK(untouched.find("strip")->find("samples")->list()->size() > 60);
        const tools::Value tried = debrief_of(number, {0, 1});
        CHECK(tried.find("strip")->find("of")->text() == "demand");
        CHECK(tells(tried, "demanded"));
    }
    CHECK(tells(debrief_of(17, {0}), "released-latched"));
    // the I/O's inputs are frozen: guards are demanded, and no signal falls
    const tools::Value frozen = debrief_of(15, {0, 1});
    const tools::Value& held = *frozen.find("strip")->find("samples");
    CHECK(course_of(held, 6, 0).find("010") != std::string::npos);
    CHECK(course_of(held, 6, 1).find("010") != std::string::npos);
    for (unsigned signal = 0; signal < 3; ++signal) CHECK(course_of(held, 4, signal) == "1");
    // the rope (guard 1) is pulled: its signal falls at the I/O, the curtain's at the controller
    const tools::Value exchanged = debrief_of(16, {1});
    const tools::Value& samples = *exchanged.find("strip")->find("samples");
    CHECK(course_of(samples, 4, 1) == "10");
    CHECK(course_of(samples, 4, 0) == "1");
    CHECK(course_of(samples, 5, 0) == "10");
    CHECK(course_of(samples, 5, 1) == "1");
}

TEST_CASE(
    "ages are drawn over the whole record where the link streams, and told as the observer's where no end knows") {
    const auto grew = [](const tools::Value& ages, const char* end) {
        const tools::Value::List& points = *ages.find(end)->list();
        REQUIRE(points.size() > 20);
        CHECK(points.size() <= sim::Trail::points_max);
        double most = -1e9, least = 1e9;
        for (const tools::Value& point : points) {
            most = std::max(most, number_in((*point.list())[1]));
            least = std::min(least, number_in((*point.list())[1]));
        }
        return most - least;
    };
    const tools::Value late = *debrief_of(17, {}).find("ages"), old = *debrief_of(18, {}).find("ages"),
                       clock = *debrief_of(19, {}).find("ages");
    CHECK_FALSE(late.find("measured")->is_true());
    CHECK(grew(late, "controller") > 350);
    CHECK(grew(late, "io") < 30);
    for (const tools::Value* ages : {&old, &clock}) CHECK(ages->find("measured")->is_true());
    CHECK(grew(old, "controller") > 40);
    CHECK(grew(old, "io") > 40);
    CHECK(grew(clock, "controller") > 30);
    CHECK(grew(clock, "io") > 30);
    // nothing grows there, or no link streams
    for (const unsigned number : {1U, 12U, 21U}) CHECK(is_null(debrief_of(number, {}).find("ages")));
}

TEST_CASE("a rejected telegram is explained in the words of the plant") {
    const tools::Value bent = debrief_of(7, {});
    for (const tools::Value& field : *bent.find("telegram")->find("fields")->list()) {
        CHECK(field.find("meaning")->text().find('_') == std::string_view::npos);
        CHECK(field.find("meaning")->text().find("the device") == std::string_view::npos);
    }
}

TEST_CASE("a debrief tells the stop, and calls nothing a cause where nothing is wrong with the link") {
    const auto stops_in = [](const tools::Value& debrief) {
        const std::vector<std::string> told = told_in(debrief);
        return std::find(told.begin(), told.end(), "machine-told-to-stop") != told.end();
    };
    CHECK(stops_in(debrief_of(19, {})));
    CHECK(tells(debrief_of(19, {}), "fault"));
    for (const unsigned number : {20U, 21U, 22U}) {
        CAPTURE(number);
        const tools::Value debrief = debrief_of(number, {});
        CHECK_FALSE(tells(debrief, "fault"));
        CHECK(tells(debrief, "guard-asked") == (number != 22));
        CHECK(tells(debrief, "fault-past") == (number == 22));
    }
    // the trainer's fault is not the drill's cause
    auto one = exercise(20);
    REQUIRE_FALSE(one.instruct({{"act", "put-in"}, {"way", "drop"}, {"where", "both-ways"}, {"lasting_ms", "400"}}));
    for (int i = 0; i < 20; ++i) one.run_on(at(i * 0.1));
    tests::do_and_hand_over(one, "lock-out,call-engineer");
    const tools::Value debrief = tools::debrief_state(one);
    CHECK(tells(debrief, "fault-by-hand"));
    CHECK_FALSE(tells(debrief, "fault"));
}

TEST_CASE(
    "from the first stop to the command, and from the command to standstill, are told apart and never contradict") {
    for (unsigned number = 1; number <= all_drills; ++number) {
        CAPTURE(number);
        const tools::Value debrief = debrief_of(number, {});
        const tools::Value& ran_on = *debrief.find("ran_on");
        if (is_null(&ran_on)) continue;
        CHECK(number_in(*ran_on.find("to_standstill_ms")) <= number_in(*ran_on.find("at_most_ms")));
        CHECK(number_in(*ran_on.find("to_command_ms")) >= 0);
    }
}
