// Resets that are held, or whose button is stuck, in a scenario file: what arrives, and what is said about wrong ones.
#include <doctest/doctest.h>

#include <string>

#include "tests/sim/scenario_fixture.hpp"

namespace {

using proto::milliseconds;
using scenario_test::base;
using scenario_test::edited;
using scenario_test::Folder;
using scenario_test::said;

const std::string act = "[[operator]]\nat = \"4 s\"\nsafeguard = \"rope\"\n";
std::string with_act(const std::string& text, const std::string& keys) {
    return edited(text, "[[fault]]", act + keys + "[[fault]]");
}

TEST_CASE("a reset may be held, or its button stuck") {
    const Folder folder;
    const std::string latched = edited(base, "name = \"rope\"\nat", "name = \"rope\"\nlatched = true\nat");
    const auto read = [&](const std::string& keys) {
        folder.write("plant.toml", with_act(latched, keys));
        const auto got = sim::read_scenario(folder.file("plant.toml"));
        REQUIRE_MESSAGE(got.ok(), (got.ok() ? "" : got.error().one_line()));
        return got.value().operator_acts.back();
    };
    CHECK(read("does = \"reset\"\n").held_for == milliseconds(0));
    const sim::OperatorAct held = read("does = \"reset\"\nheld_for = \"3 s\"\n");
    CHECK(held.act == sim::OperatorAct::Act::reset);
    CHECK(held.held_for == milliseconds(3000));
    const sim::OperatorAct stuck = read("does = \"hold-reset\"\n");
    CHECK(stuck.act == sim::OperatorAct::Act::hold_reset);
    CHECK(stuck.safeguard == "rope");

    const auto wrong = [&](const std::string& keys) { return said(with_act(latched, keys)); };
    CHECK(wrong("does = \"hold-reset\"\nheld_for = \"3 s\"\n") ==
          "operator[3].held_for: means nothing for a button that is never let go; take it away, or write does = "
          "\"reset\"");
    CHECK(wrong("does = \"reset\"\nheld_for = \"0 s\"\n").find("operator[3].held_for: 0 is too short") == 0);
    CHECK(wrong("does = \"reset\"\nheld_for = \"16 s\"\n") ==
          "operator[3].held_for: it would be let go at 20 s, after the end of the run; write less, lengthen duration, "
          "or write does = \"hold-reset\" for a button that is never let go");
    CHECK(said(edited(with_act(latched, "does = \"acknowledge\"\nheld_for = \"1 s\"\n"), act,
                      "[[operator]]\nat = \"4 s\"\n")) ==
          "operator[3].held_for: means something with does = \"reset\" only; take it away");
    CHECK(said(edited(with_act(latched, "does = \"hold-reset\"\n"), act, "[[operator]]\nat = \"4 s\"\n")) ==
          "operator[3].safeguard: is missing; write safeguard = \"rope_pull\"");
    CHECK(wrong("does = \"start-machine\"\n") ==
          "operator[3].safeguard: means something with does = \"reset\" or \"hold-reset\" only; take it away");
}

}  // namespace
