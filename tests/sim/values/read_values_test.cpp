// Values in a scenario file: what is read of them, and what is refused.
#include <string>

#include "sim/reading/all_problems.hpp"
#include "tests/sim/scenario_fixture.hpp"

namespace {

using namespace scenario_test;
using sim::ValueOrder;
using sim::ValueType;

/// The fixture's plant with one value to the device.
const std::string speed = R"([[value]]
name = "allowed_speed"
direction = "to-device"
type = "u16"
at = 2
scale = "0.1 mm/s"
range = ["0 mm/s", "250 mm/s"]
substitute = "0 mm/s"
safe = "low"
is = "100 mm/s"
)";

std::string with(const std::string& value) { return std::string(base) + value; }
std::string changed(const std::string& from, const std::string& to) { return with(edited(speed, from, to)); }

sim::Scenario read(const std::string& text) {
    const Folder folder;
    folder.write("plant.toml", text);
    const auto scenario = sim::read_scenario(folder.file("plant.toml"));
    REQUIRE_MESSAGE(scenario.ok(), said(text));
    return scenario.value();
}

TEST_CASE("a value is read with all that it says, and takes its bytes in the bits in use") {
    const sim::Scenario s = read(with(speed));
    REQUIRE(s.values.all.size() == 1);
    const sim::SafeValue& value = s.values.all.front();
    CHECK(value.name == "allowed_speed");
    CHECK(value.unit == sim::ValueUnit::speed);
    CHECK(value.low == 0);
    CHECK(value.high == 250'000);
    CHECK(value.substitute() == 0);
    CHECK(value.source.kind == sim::ValueSource::Kind::constant);
    CHECK(value.source.steps.at(0).is == 100'000);
    for (const sim::End end : {sim::End::controller, sim::End::device}) {
        const sim::TypedValue& typed = s.values.at(end, 0);
        CHECK(typed.type == ValueType::u16);
        CHECK(typed.at == 2);
        CHECK(typed.order == ValueOrder::high_first);
        CHECK(typed.scale == 100);
    }
    CHECK(s.controller.link.bits_sent[2] == 0xFF);
    CHECK(s.controller.link.bits_sent[3] == 0xFF);
    CHECK(s.controller.link.bits_sent[4] == 0);
    CHECK(s.device.link.bits_received[3] == 0xFF);
    CHECK(s.controller.link.bits_received[2] == 0);
}

TEST_CASE("an end may have a value otherwise, on top of what both have") {
    const sim::Scenario s = read(with(speed) + R"([values]
allowed_speed = { at = 4 }
[device.values]
allowed_speed = { order = "low-first", scale = "1 mm/s", type = "i16" }
)");
    CHECK(s.values.at(sim::End::controller, 0) == sim::TypedValue{ValueType::u16, 4, ValueOrder::high_first, 100, {}});
    CHECK(s.values.at(sim::End::device, 0) == sim::TypedValue{ValueType::i16, 4, ValueOrder::low_first, 1'000, {}});
    CHECK(s.controller.link.bits_sent[2] == 0);
    CHECK(s.controller.link.bits_sent[4] == 0xFF);
}

TEST_CASE("a range that is not written is all that the type holds") {
    const sim::Scenario s = read(changed("range = [\"0 mm/s\", \"250 mm/s\"]\n", ""));
    CHECK(s.values.all.front().low == 0);
    CHECK(s.values.all.front().high == 6'553'500);
}

TEST_CASE("a plain number, steps over time and what the machine does are sources too") {
    const sim::Scenario plain = read(with(R"([[value]]
name = "recipe"
direction = "to-device"
type = "i16"
at = 2
scale = 0.5
range = [-10, 20]
substitute = -10
safe = "low"
over_time = [{ at = "0 s", is = 1.5 }, { at = "2 s", is = -3 }]
)"));
    const sim::SafeValue& recipe = plain.values.all.front();
    CHECK(recipe.unit == sim::ValueUnit::none);
    CHECK(plain.values.at(sim::End::device, 0).scale == 500'000);
    CHECK(recipe.low == -10'000'000);
    REQUIRE(recipe.source.steps.size() == 2);
    CHECK(recipe.source.steps[0].is == 1'500'000);
    CHECK(recipe.source.steps[1].at == proto::seconds(2));
    CHECK(recipe.source.steps[1].is == -3'000'000);

    const std::string back = edited(edited(speed, "to-device", "to-controller"), "is = \"100 mm/s\"",
                                    R"(by_machine = { stands = "0 mm/s", reduced = "10 mm/s", full = "60 mm/s" })");
    CHECK(read(with(back)).values.all.front().source.kind == sim::ValueSource::Kind::machine_state);
    const std::string spoken =
        edited(edited(speed, "to-device", "to-controller"), "is = \"100 mm/s\"", "by_machine = \"speed\"");
    CHECK(read(with(spoken)).values.all.front().source.kind == sim::ValueSource::Kind::machine_speed);
}

TEST_CASE("a substitute that does not lie at the safe end is refused") {
    CHECK(said(changed("substitute = \"0 mm/s\"", "substitute = \"250 mm/s\"")) ==
          "value[1].substitute: 250 mm/s does not lie at the safe end of 0 mm/s to 250 mm/s; write \"0 mm/s\", or a "
          "range that ends there");
    CHECK(said(changed("safe = \"low\"", "safe = \"high\"")) ==
          "value[1].substitute: 0 mm/s does not lie at the safe end of 0 mm/s to 250 mm/s; write \"250 mm/s\", or a "
          "range that ends there");
    CHECK(said(changed("substitute = \"0 mm/s\"", "substitute = \"10 mm/s\"")) ==
          "value[1].substitute: 10 mm/s does not lie at the safe end of 0 mm/s to 250 mm/s; write \"0 mm/s\", or a "
          "range that ends there");
}

TEST_CASE("a value may not share a byte with another of its way, nor with a bit, nor lie past the payload") {
    const std::string other = edited(edited(speed, "allowed_speed", "second"), "at = 2", "at = 3");
    CHECK(said(with(speed) + other) ==
          "value[2]: bytes 3 and 4 at the controller: allowed_speed lies in bytes 2 and 3; write another at");
    CHECK(said(with(speed) + edited(other, "to-device", "to-controller")).empty());  // another way
    CHECK(said(changed("at = 2", "at = 0")) ==
          "value[1]: bytes 0 and 1 at the controller: the bit of closing lies in byte 0; write another at");
    // only at the device another signal's bit lies there
    CHECK(said(with(speed) + "[device.values]\nallowed_speed = { at = 1 }\n") ==
          "device.values.allowed_speed: bytes 1 and 2 at the device: the bit of closing lies in byte 1; write another "
          "at");
    CHECK(said(changed("at = 2", "at = 7")) ==
          "value[1]: bytes 7 and 8 are past the payload of 8 bytes at the controller; write at = 6 or less");
    CHECK(said(with(speed) + "[device.values]\nallowed_speed = { type = \"u32\", at = 6 }\n") ==
          "device.values.allowed_speed: bytes 6 to 9 are past the payload of 8 bytes at the device; write at = 4 or "
          "less");
}

TEST_CASE("a range that does not fit its type once it is scaled is refused, and so is what lies outside a range") {
    CHECK(said(changed("\"250 mm/s\"]", "\"7 m/s\"]")) ==
          "value[1].range: 0 mm/s to 7000 mm/s does not fit its type: u16 holds 0 mm/s to 6553.5 mm/s in counts of 0.1 "
          "mm/s; write a wider type, a coarser scale or a smaller range");
    CHECK(said(changed("[\"0 mm/s\"", "[\"-1 mm/s\"")) ==
          "value[1].range: -1 mm/s to 250 mm/s does not fit its type: u16 holds 0 mm/s to 6553.5 mm/s in counts of 0.1 "
          "mm/s; write a wider type, a coarser scale or a smaller range");
    CHECK(said(changed("\"250 mm/s\"]", "\"250.05 mm/s\"]")) ==
          "value[1].range: has an end between two counts of 0.1 mm/s; write whole counts");
    CHECK(said(changed("\"250 mm/s\"]", "\"0 mm/s\"]")) ==
          "value[1].range: ends where it begins, or before; write the lower end first");
    CHECK(said(changed("is = \"100 mm/s\"", "is = \"251 mm/s\"")) ==
          "value[1].is: 251 mm/s lies outside the range of 0 mm/s to 250 mm/s; write a value within it, or a wider "
          "range");
    CHECK(said(changed("is = \"100 mm/s\"",
                       "over_time = [{ at = \"1 s\", is = \"10 mm/s\" }, { at = \"1 s\", is = \"20 "
                       "mm/s\" }]")) ==
          "value[1].over_time[2].at: 1 s is not after the row before; write the rows in the order of time");
}

TEST_CASE("what the sending end typed for itself must hold the range too, the receiving end is only compared") {
    const std::string own = "[controller.values]\nallowed_speed = { scale = \"4 mm/s\" }\n";
    CHECK(said(with(speed) + own) ==
          "controller.values.allowed_speed: the range of 0 mm/s to 250 mm/s does not fit whole counts of 4 mm/s in "
          "u16, as "
          "the controller sends them; write range at [[value]], or another type or scale");
    CHECK(
        said(with(speed) + "[controller.values]\nallowed_speed = { type = \"u8\" }\n")
            .starts_with("controller.values.allowed_speed: the range of 0 mm/s to 250 mm/s does not fit whole counts"));
    CHECK(said(with(speed) + "[device.values]\nallowed_speed = { type = \"u8\", scale = \"4 mm/s\" }\n").empty());
    // fine for one byte, not for the four of the other table
    const std::string coarse =
        edited(edited(edited(edited(speed, "\"u16\"", "\"u8\""), "\"0.1 mm/s\"", "\"5000000 m/s\""),
                      "range = [\"0 mm/s\", \"250 mm/s\"]\n", ""),
               "is = \"100 mm/s\"", "is = \"5000000 m/s\"");
    CHECK(said(with(coarse)).empty());
    CHECK(said(with(coarse) + "[device.values]\nallowed_speed = { type = \"u32\" }\n") ==
          "device.values.allowed_speed: its scale at the device is too coarse for u32; write a finer one");
}

TEST_CASE("words that are no key, type, order, scale or value are refused with what is meant") {
    CHECK(said(changed("type = \"u16\"", "type = \"u61\"")) ==
          "value[1].type: \"u61\" is none of u8, u16, i16, u32, i32; did you mean \"u16\"?");
    CHECK(said(changed("scale = \"0.1 mm/s\"", "scale = \"0.1 furlongs\"")) ==
          "value[1].scale: \"0.1 furlongs\" is no scale; write what one count is, such as \"0.1 mm/s\" or 0.1");
    CHECK(said(changed("scale = \"0.1 mm/s\"", "scale = \"0 mm/s\"")) ==
          "value[1].scale: \"0 mm/s\" is no scale; write more than 0, such as \"0.1 mm/s\"");
    CHECK(said(changed("is = \"100 mm/s\"", "is = \"100 mm\"")) ==
          "value[1].is: \"100 mm\" is no number with a unit of its scale's kind; write a value such as \"5000 mm/s\"");
    CHECK(said(changed("is = \"100 mm/s\"", "is = 100")) ==
          "value[1].is: \"100\" has no unit; write a value such as \"5000 mm/s\"");
    CHECK(said(changed("is = \"100 mm/s\"\n", "")) ==
          "value[1].is: is missing; write is = \"250 mm/s\", or over_time, by_machine or from");
    CHECK(said(changed("is = \"100 mm/s\"", "is = \"100 mm/s\"\nby_machine = \"speed\"")) ==
          "value[1].by_machine: one of is, over_time, by_machine and from gives the value; take the others away");
    CHECK(said(changed("is = \"100 mm/s\"", "by_machine = \"speed\"")) ==
          "value[1].by_machine: no machine is at the controller, which sends this value; write is or over_time, or the "
          "other direction");
    CHECK(said(changed("name = \"allowed_speed\"", "name = \"closing\""))
              .starts_with("value[1].name: \"closing\" is taken"));
    CHECK(said(changed("at = 2", "at = 2\norder = \"word-swapped\"")) ==
          "value[1]: u16 has no two words to exchange; write order = \"low-first\" or \"high-first\"");
    CHECK(said(with(speed) + "[values]\nallowed_sped = { at = 4 }\n") ==
          "values.allowed_sped: is no value; nearest is \"allowed_speed\"");
    CHECK(
        said(with(speed) + "[device.values]\nallowed_speed = { scale = 2 }\n") ==
        "device.values.allowed_speed.scale: is of another kind than that of [[value]]; write one such as \"0.1 mm/s\"");
    CHECK(said(with(speed) + "[device.values]\nallowed_speed = { ordr = \"low-first\" }\n") ==
          "device.values.allowed_speed.ordr: unknown key; did you mean \"order\"?");
}

TEST_CASE("the value that lowers the reduced speed is a speed received at the machine's end, safe at its low end") {
    const std::string from = "reduced_speed = \"0.01 m/s\"\nreduced_speed_from = \"allowed_speed\"";
    const auto asked = [&](const std::string& value) {
        return edited(with(value), "reduced_speed = \"0.01 m/s\"", from);
    };
    CHECK(said(asked(speed)).empty());
    CHECK(said(asked(edited(speed, "allowed_speed", "other"))) ==
          "machine.reduced_speed_from: \"allowed_speed\" is no value; write \"other\", the only one there is");
    CHECK(said(asked(edited(speed, "to-device", "to-controller"))) ==
          "machine.reduced_speed_from: \"allowed_speed\" is not received at the machine's end; write a value that is");
    CHECK(said(asked(
              edited(edited(speed, "substitute = \"0 mm/s\"", "substitute = \"250 mm/s\""), "\"low\"", "\"high\""))) ==
          "machine.reduced_speed_from: \"allowed_speed\" is not safe at its low end, from 0 on, as a speed is that "
          "lowers another; write safe = \"low\" there");
    CHECK(said(edited(with(speed), "reduced_speed = \"0.01 m/s\"", "reduced_speed_from = \"allowed_speed\"")) ==
          "machine.reduced_speed_from: lowers the reduced speed, and there is none; write reduced_speed");
}

TEST_CASE("the seventeenth value is one too many") {
    std::string text = base;
    for (unsigned i = 0; i < 17; ++i)
        text += edited(edited(edited(speed, "allowed_speed", "speed_" + std::to_string(i)), "\"u16\"", "\"u8\""),
                       "range = [\"0 mm/s\", \"250 mm/s\"]\n", "");
    const Folder folder;
    folder.write("plant.toml", text);
    bool told = false;
    for (const sim::FileError& error : sim::all_problems_of(folder.file("plant.toml")))
        told = told || error.message == "is one too many; write at most 16 values";
    CHECK(told);
}

}  // namespace
