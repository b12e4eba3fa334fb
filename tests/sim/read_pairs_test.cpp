// Pairs of bits in a scenario file: what arrives, and what is said about each wrong one.
#include <doctest/doctest.h>

#include <string>

#include "tests/sim/scenario_fixture.hpp"

namespace {

using proto::milliseconds;
using scenario_test::base;
using scenario_test::complaint;
using scenario_test::edited;
using scenario_test::Folder;
using scenario_test::said;

const std::string rope_bit = R"([[signal]]
name = "rope_free"
direction = "to-device"
all_of = "rope"
)";

/// With these keys for the second bit of "closing", named "second".
std::string with(const std::string& keys) {
    const std::string text = edited(base, rope_bit, rope_bit + "[[signal]]\nname = \"second\"\n" + keys);
    return edited(text, "rope_free = \"0.2\"\n", "rope_free = \"0.2\"\nsecond = \"0.3\"\n");
}
const std::string right = "direction = \"to-device\"\ninverse_of = \"closing\"\ndiscrepancy = \"30 ms\"\n";

TEST_CASE("a pair arrives, and feeds what its first bit is made of") {
    const Folder folder;
    folder.write("plant.toml", with(right));
    const auto read = sim::read_scenario(folder.file("plant.toml"));
    REQUIRE_MESSAGE(read.ok(), (read.ok() ? "" : read.error().one_line()));
    const sim::Scenario& s = read.value();
    REQUIRE(s.signals.size() == 4);
    CHECK(s.signals[3].inverse_of == "closing");
    CHECK(s.signals[3].discrepancy == milliseconds(30));
    CHECK(sim::second_of(s.signals, "closing") == &s.signals[3]);
    CHECK(sim::second_of(s.signals, "rope_free") == nullptr);
    CHECK(sim::second_of(s.signals, "") == nullptr);
    CHECK(sim::feeds_a_pair(s.signals, "rope"));
    CHECK(sim::feeds_a_pair(s.signals, "curtain"));  // by way of curtain_free
    CHECK_FALSE(sim::feeds_a_pair(s.signals, "closing"));
    CHECK(s.device.link.bits_received[0] == 0b1100);  // "closing" was typed at 1.7 there
}

TEST_CASE("a pair that is none is told by line, key and mend") {
    const Folder folder;
    const std::string other = with("direction = \"to-device\"\ninverse_of = \"closng\"\ndiscrepancy = \"30 ms\"\n");
    CHECK(complaint(folder, other) == std::to_string(scenario_test::line_of(other, "inverse_of")) +
                                          ": signal[4].inverse_of: \"closng\" is no signal; nearest is \"closing\"");
    CHECK(said(edited(with(right), "\"closing\"\ndis", "\"\"\ndis")) ==
          "signal[4].inverse_of: names nothing; write the first signal of the pair");
    CHECK(said(edited(with(right), "\"closing\"\ndis", "\"second\"\ndis")) ==
          "signal[4].inverse_of: \"second\" is this signal itself; write the one that it is the complement of");
    CHECK(
        said(edited(with(right), "\"closing\"\ndis", "\"curtain_free\"\ndis")) ==
        "signal[4].inverse_of: \"curtain_free\" goes the other way, and both bits of a pair go in one telegram; write "
        "direction = \"to-controller\", or another signal");
    const std::string third = "[[signal]]\nname = \"third\"\n";
    const std::string twice = edited(edited(with(right), "[bits]", third + right + "[bits]"), "second = \"0.3\"\n",
                                     "second = \"0.3\"\nthird = \"0.4\"\n");
    CHECK(said(twice).find("signal[5].inverse_of: \"closing\" has its second bit already, \"second\" (line ") == 0);
    CHECK(said(edited(twice, third + "direction = \"to-device\"\ninverse_of = \"closing\"",
                      third + "direction = \"to-device\"\ninverse_of = \"second\"")) ==
          "signal[5].inverse_of: \"second\" is itself the second bit of a pair; write the first one, \"closing\"");
}

TEST_CASE("a discrepancy time is needed with a pair, and is one") {
    const std::string without = "direction = \"to-device\"\ninverse_of = \"closing\"\n";
    CHECK(said(with(without)) == "signal[4].discrepancy: is missing; write discrepancy = \"100 ms\"");
    CHECK(said(with(without + "discrepancy = \"0 ms\"\n")) ==
          "signal[4].discrepancy: 0 is too short; write more than \"0 ms\"");
    CHECK(said(with(without + "discrepancy = \"-5 ms\"\n")).find("signal[4].discrepancy: ") == 0);
    CHECK(said(with(without + "discrepancy = \"2 min\"\n")).find("signal[4].discrepancy: ") == 0);
    CHECK(said(with(without + "discrepancy = \"60 s\"\n")).empty());
    CHECK(said(with("direction = \"to-device\"\nall_of = [\"rope\"]\ndiscrepancy = \"30 ms\"\n")) ==
          "signal[4].discrepancy: means something with inverse_of only, at the second bit of a pair; take it away");
    for (const std::string key : {"all_of = [\"rope\"]", "any_of = [\"rope\"]", "off_delay = \"1 s\""}) {
        CAPTURE(key);
        CHECK(said(with(right + key + "\n")) ==
              "signal[4]." + key.substr(0, key.find(' ')) +
                  ": means nothing for the second bit of a pair, which is sent as the complement of the first; take it "
                  "away, or write it at \"closing\"");
    }
}

TEST_CASE("nothing uses the second bit of a pair: its 0 is not the safe meaning") {
    const std::string why =
        "\"second\" is the second bit of a pair: its 0 asks for nothing, and a link that stops makes it 0; write the "
        "first one, \"closing\", which is read with it";
    CHECK(said(edited(with(right), "signal = \"closing\"", "signal = \"second\"")) ==
          "machine.reaction[1].signal: " + why);
    const std::string used = edited(with(right), "[bits]", R"([[signal]]
name = "echo"
direction = "to-controller"
all_of = ["second"]
[bits]
echo = "0.5"
)");
    CHECK(said(used) == "signal[5].all_of: " + why);
}

TEST_CASE("a safeguard that feeds a pair has something to reset, one that latches nothing has not") {
    const auto with_reset = [](const std::string& text) {
        return edited(text, "[[fault]]",
                      "[[operator]]\nat = \"4 s\"\nsafeguard = \"rope\"\ndoes = \"reset\"\n[[fault]]");
    };
    CHECK(said(with_reset(base)) ==
          "operator[3].safeguard: \"rope\" is not latched, so there is nothing to reset; write latched = true there");
    CHECK(said(with_reset(with(right))).empty());
}

}  // namespace
