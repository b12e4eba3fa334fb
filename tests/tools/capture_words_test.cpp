// The comments of a capture: what an end concluded is read back from them exactly.
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "tests/support/scenarios.hpp"
#include "tools/capture/capture_words.hpp"

using tools::Conclusion;
using Kind = Conclusion::Kind;

TEST_CASE("every set of measures is read back from its sentence, the first one first") {
    for (unsigned bits = 1; bits < 1U << proto::measure_count; ++bits) {
        for (const bool answer : {false, true}) {
            proto::MeasureSet failed = proto::MeasureSet::from_packed(static_cast<std::uint16_t>(bits));
            if (answer) failed.add_wrong_answer();
            const std::string comment =
                "Injection 1 (delay, +2 ms): late. " + tools::sentence_of("press I/O", {Kind::rejected, failed});
            const auto read = tools::conclusion_in(comment, "press I/O");
            CAPTURE(comment);
            REQUIRE(read);
            CHECK(read->kind == Kind::rejected);
            CHECK(read->failed.first() == failed.first());
            for (unsigned i = 0; i < proto::measure_count; ++i) {
                const auto measure = static_cast<proto::Measure>(i);
                CHECK(read->failed.has(measure) == failed.has(measure));
            }
        }
    }
}

TEST_CASE("every other conclusion is read back too, of the end that is asked for") {
    for (const Kind kind : {Kind::accepted, Kind::accepted_wrongly, Kind::repeat, Kind::ignored, Kind::handshake}) {
        const std::string comment = tools::sentence_of("C: odd name", {kind});
        CHECK(tools::conclusion_in(comment, "C: odd name")->kind == kind);
        CHECK_FALSE(tools::conclusion_in(comment, "press"));
    }
    for (const auto why : {sim::WhyUnheard::power_off, sim::WhyUnheard::queue_full, sim::WhyUnheard::forgotten,
                           sim::WhyUnheard::missed}) {
        const auto read = tools::conclusion_in(tools::sentence_of("D", {Kind::unheard, {}, why}), "D");
        REQUIRE(read);
        CHECK(read->kind == Kind::unheard);
        CHECK(read->why == why);
    }
    for (const char* no : {"", "D", "D: ", "D: rejected (", "D: rejected ()", "D: rejected (luck).", "D: gone."})
        CHECK_FALSE(tools::conclusion_in(no, "D"));
}

TEST_CASE("what the channel changed is listed bit by bit") {
    const std::vector<std::uint8_t> was{0x00, 0xFF, 0x10};
    CHECK(tools::changed(was, was).empty());
    CHECK(tools::changed(was, std::vector<std::uint8_t>{0x80, 0xFF, 0x10}) == "Bit 0 is turned over.");
    CHECK(tools::changed(was, std::vector<std::uint8_t>{0x00, 0xFE, 0x11}) == "Bits 15 and 23 are turned over.");
    CHECK(tools::changed(was, std::vector<std::uint8_t>{0x07, 0xFF, 0x10}) == "Bits 5, 6 and 7 are turned over.");
    CHECK(tools::changed(was, std::vector<std::uint8_t>{0xFF, 0x00, 0x10}) ==
          "Bits 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11 and 4 more are turned over.");
    CHECK(tools::changed(was, std::vector<std::uint8_t>{0x00, 0xFF}) == "1 byte is missing at the end.");
    CHECK(tools::changed(was, std::vector<std::uint8_t>{0x01}) ==
          "Bit 7 is turned over. 2 bytes are missing at the end.");
}

TEST_CASE("each way of a fault says what it did, and only a drop says that a telegram arrives nowhere") {
    sim::Scenario scenario = tests::polled_link();
    for (int way = 0; way <= static_cast<int>(sim::FaultWay::loop_back); ++way)
        scenario.faults.push_back(tests::fault_of(static_cast<sim::FaultWay>(way)));
    for (std::size_t i = 0; i < scenario.faults.size(); ++i) {
        sim::Tag tag;
        tag.injection = static_cast<std::uint32_t>(i + 1) & sim::Tag::injection_max;
        const bool drops = scenario.faults[i].way == sim::FaultWay::drop;
        const std::string sets_out = tools::befallen(scenario, tag, drops ? sim::Fate::dropped : sim::Fate::touched);
        const std::string begin = "Injection " + std::to_string(i + 1) + " (";
        CHECK(sets_out.find(begin) == 0);
        CHECK(tools::says_dropped(sets_out) == drops);
        const std::string arrives = tools::done_to(scenario, tag, sim::End::device);
        CHECK(arrives.find(begin) == 0);
        CHECK_FALSE(tools::says_dropped(arrives));
    }
    sim::Tag tag;
    CHECK(tools::done_to(scenario, tag, sim::End::device).empty());
    CHECK_FALSE(tools::done_to(scenario, tag, sim::End::controller).empty());
    tag.altered = true;
    CHECK(tools::done_to(scenario, tag, sim::End::device).find("bit errors") != std::string::npos);
    for (const sim::Fate fate : {sim::Fate::lost, sim::Fate::crowded_out})
        CHECK(tools::says_dropped(tools::befallen(scenario, tag, fate)));
    CHECK_FALSE(tools::says_dropped(tools::befallen(scenario, tag, sim::Fate::bent)));
}
