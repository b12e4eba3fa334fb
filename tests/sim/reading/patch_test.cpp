// Edits of texts, letter by letter: where a new key goes, what goes with one that is taken out, what is refused.
#include "sim/reading/patch.hpp"

#include <doctest/doctest.h>

#include <array>
#include <string>

namespace {

using Answer = proto::Result<std::string, sim::FileError>;

sim::WrittenFile written(const std::string& text) {
    auto file = sim::WrittenFile::of(text, "plant.toml");
    REQUIRE_MESSAGE(file.ok(), file.error().one_line());
    return std::move(file).value();
}
std::string said(const Answer& answer) { return answer ? answer.value() : answer.error().one_line(); }
std::string with(const std::string& text, const char* path, const char* value) {
    return said(sim::with_value(written(text), path, value));
}
std::string without(const std::string& text, const char* path) { return said(sim::without(written(text), path)); }
std::string typed(const std::string& text, const char* path, const char* as) {
    return said(sim::as_toml(written(text), path, as));
}

const std::string press =
    "title = \"press\"   # \xF0\x9F\x98\x80\n"
    "\n"
    "# both ends\n"
    "[link]\n"
    "cycle = \"10 ms\"   # as paced\n"
    "                  # by the controller\n"
    "payload = 4\n"
    "\n"
    "# here\n"
    "[controller]\n"
    "address = \"0x10\"\n"
    "\n"
    "[[fault]]\n"
    "way = \"drop\"\n"
    "expect = { outcome = \"safe-state\" } # caught\n"
    "\n"
    "# the second\n"
    "# one\n"
    "[[fault]]\n"
    "way = \"hold\"\n"
    "# no more of it\n"
    "\n"
    "# the end\n";

}  // namespace

TEST_CASE("a value is told as written, with its line") {
    const sim::WrittenFile file = written(press);
    CHECK(sim::value_at(file, "link.payload")->written == "4");
    CHECK(sim::value_at(file, "link.payload")->line == 7);
    CHECK(sim::value_at(file, "fault[1].expect.outcome")->written == "\"safe-state\"");
    CHECK(sim::value_at(file, "fault[1].expect")->written == "{ outcome = \"safe-state\" }");
    CHECK(sim::value_at(file, "fault[2].way")->line == 20);
    for (const char* none : {"link", "fault", "fault[3].way", "fault[0].way", "link.watchdog", "", ".", "link..cycle",
                             "link.", "fault[", "fault[1", "fault[99999999999999999999].way", "fault.way", "title.x"})
        CHECK_FALSE(sim::value_at(file, none).has_value());
}

TEST_CASE("names in quotes, dotted keys, and texts over several lines are found") {
    const sim::WrittenFile file = written(
        "a.\"b c\".d = 1\n'x.y' = '''\n# [no]\n'''\n[t]\nm = \"\"\"a\\\"\"\"\"\"\nl = [ 1, # ]\n  [ \"]\", '#' ] ]\nk "
        "= "
        "1979-05-27 07:32:00\n\"\\u00e4\" = { u.v = 1, w = [{ z = 2 }] }\n");
    CHECK(sim::value_at(file, "a.\"b c\".d")->written == "1");
    CHECK(sim::value_at(file, "a.b c.d")->written == "1");
    CHECK(sim::value_at(file, "\"x.y\"")->written == "'''\n# [no]\n'''");
    CHECK(sim::value_at(file, "t.m")->node->text == "a\"\"");
    CHECK(sim::value_at(file, "t.l[2][1]")->written == "\"]\"");
    CHECK(sim::value_at(file, "t.k")->written == "1979-05-27 07:32:00");
    CHECK(sim::value_at(file, "t.\xC3\xA4.u.v")->written == "1");
    CHECK(sim::value_at(file, "t.\xC3\xA4.w[1].z")->written == "2");
}

TEST_CASE("a new key goes behind the one that the documentation lists before it") {
    CHECK(with(press, "link.watchdog", "\"45 ms\"") ==
          std::string(press).insert(press.find("payload"), "watchdog = \"45 ms\"\n"));
    CHECK(with(press, "link.exchange", "\"polled\"") ==
          std::string(press).insert(press.find("cycle"), "exchange = \"polled\"\n"));
    CHECK(with(press, "controller.name", "\"c\"") ==
          std::string(press).insert(press.find("address"), "name = \"c\"\n"));
    CHECK(with(press, "controller.watchdog", "\"9 ms\"") ==
          std::string(press).insert(press.find("\n[[fault"), "watchdog = \"9 ms\"\n"));
    CHECK(with(press, "duration", "\"1 s\"") ==
          std::string(press).insert(press.find("\n# both"), "duration = \"1 s\"\n"));
    CHECK(with(press, "fault[1].expect.at", "\"device\"") ==
          std::string(press).insert(press.find(" } # caught"), ", at = \"device\""));
    CHECK(with(press, "fault[2].at", "\"1 s\"") ==
          std::string(press).insert(press.find("# no more"), "at = \"1 s\"\n"));
}

TEST_CASE("a new table goes behind the last that the documentation lists before it") {
    CHECK(with(press, "device.address", "2") ==
          std::string(press).insert(press.find("\n[[fault"), "\n[device]\naddress = 2\n"));
    CHECK(with(press, "controller.network.ip", "\"192.0.2.1\"") ==
          std::string(press).insert(press.find("\n[[fault"), "\n[controller.network]\nip = \"192.0.2.1\"\n"));
    CHECK(with(press, "link.queue.load", "1") ==
          std::string(press).insert(press.find("\n# here"), "\n[link.queue]\nload = 1\n"));
    CHECK(with("a = 1", "limit.trips_per_year", "2") == "a = 1\n\n[limit]\ntrips_per_year = 2");
    CHECK(with("a = 1\r\n[fault]\r\n", "channel.loss", "0.1") == "a = 1\r\n[channel]\r\nloss = 0.1\r\n[fault]\r\n");
}

TEST_CASE("in a cell a table goes below its own link") {
    const std::string cell = "[[link]]\nname = \"a\"\n\n[link.device]\nname = \"x\"\n\n[[link]]\nname = \"b\"\n";
    CHECK(with(cell, "link[1].device.network.ip", "1") ==
          std::string(cell).insert(cell.find("\n[[link]]\nname = \"b\""), "\n[link.device.network]\nip = 1\n"));
    CHECK(with(cell, "link[2].device.name", "1") == cell + "\n[link.device]\nname = 1\n");
    CHECK(with(cell, "link[1].channel.loss", "1") ==
          std::string(cell).insert(cell.find("\n[[link]]\nname = \"b\""), "\n[link.channel]\nloss = 1\n"));
    CHECK(with(cell, "link[3].name", "1") == "plant.toml: link[3].name: there are 2 of them; write one that is there");
    CHECK(with(cell, "link.name", "1") == "plant.toml: link.name: there are several; write which, such as [1]");
}

TEST_CASE("keys go into braces and behind dotted keys") {
    CHECK(with("x = {}\n", "x.a", "1") == "x = { a = 1 }\n");
    CHECK(with("x = { b.c = 1, d = 2 }\n", "x.b.e", "3") == "x = { b.c = 1, b.e = 3, d = 2 }\n");
    CHECK(with("  x.b = 1\ny = 2\n", "x.c.d", "3") == "  x.b = 1\n  x.c = { d = 3 }\ny = 2\n");
    CHECK(with("[a.b]\nc = 1\n", "a.d", "2") == "[a]\nd = 2\n\n[a.b]\nc = 1\n");
    CHECK(with("[bits]\nz = \"0.0\"\n", "bits.\"pit door\"", "\"0.1\"") ==
          "[bits]\nz = \"0.0\"\n\"pit door\" = \"0.1\"\n");
}

TEST_CASE("what is no value, and a path that leads nowhere, is refused") {
    for (const char* value : {"", "1 # c", "1\nb = 2", "80 ms", "\"", "[1", "{ a = 1", "1, 2", " 1", "a = 1", "\xFF"}) {
        CAPTURE(value);
        CHECK_FALSE(sim::with_value(written(press), "link.payload", value).ok());
    }
    CHECK(with(press, "link", "1") == "plant.toml:4: link: is a table, not a value; type its keys");
    CHECK(with(press, "title.x", "1") == "plant.toml: title.x: leads through a value that is no table");
    CHECK(with(press, "link.x[1]", "1") == "plant.toml: link.x[1]: there are 0 of them; write one that is there");
    CHECK(with(press, "link..x", "1") ==
          "plant.toml: link..x: is no path of a key; write link.watchdog, or fault[3].at");
    const auto broken = sim::WrittenFile::of("a = 1\nb = \n", "plant.toml");
    REQUIRE_FALSE(broken.ok());
    CHECK(broken.error().line == 2);
}

TEST_CASE("a key goes with its line, the last of a table with its header") {
    CHECK(without(press, "link.cycle") == std::string(press).erase(press.find("cycle"), 29));
    CHECK(without(press, "fault[1].expect") == std::string(press).erase(press.find("expect"), 45));
    // a comment touches the header: it stays
    CHECK(without(press, "controller.address") == std::string(press).erase(press.find("address"), 17));
    CHECK(without("a = 1\n\n[b]\nc = 2\n\n# d\n[d]\ne = 3\n", "b.c") == "a = 1\n\n# d\n[d]\ne = 3\n");
    CHECK(without("a = 1\n\n[b] # keep\nc = 2\n", "b.c") == "a = 1\n\n[b] # keep\n");
    CHECK(without("a = 1\n\n[b]\nc = 2\n# keep\n", "b.c") == "a = 1\n\n[b]\n# keep\n");
    CHECK(without("a = 1\n\n[b.c]\nd = 2", "b.c.d") == "a = 1");
    CHECK(without("a = 1\r\n\r\n[b.c]\r\nd = 2", "b.c.d") == "a = 1");
    CHECK(without("[[a]]\nb = 1\n[[a]]\nc = 1\n", "a[1].b") == "[[a]]\n[[a]]\nc = 1\n");
    CHECK(without("a = 1\n", "a").starts_with("plant.toml: is empty; "));
    CHECK(
        without("# all\na = 1\n", "a").starts_with("plant.toml:2: a: cannot be edited alone: the file then holds no "));
    CHECK(without(press, "link.none") == "plant.toml: link.none: is not there, so it cannot be taken out");
}

TEST_CASE("members of braces and items of lists go with their comma") {
    const std::string line = "x = { a = 1, b = 2, c = 3 }\nl = [ 1, 2,\n  3, # three\n  4 ]\n";
    CHECK(without(line, "x.a").starts_with("x = { b = 2, c = 3 }\n"));
    CHECK(without(line, "x.b").starts_with("x = { a = 1, c = 3 }\n"));
    CHECK(without(line, "x.c").starts_with("x = { a = 1, b = 2 }\n"));
    CHECK(without(line, "l[1]").ends_with("l = [ 2,\n  3, # three\n  4 ]\n"));
    CHECK(without(line, "l[3]").ends_with("l = [ 1, 2,\n  4 ]\n"));
    CHECK(without(line, "l[4]").ends_with("l = [ 1, 2,\n  3, # three\n  ]\n"));
    CHECK(without("y = 1\nx = { a = 1 }\n", "x.a") == "y = 1\n");
    CHECK(without("y = 1\nx = { a = 1 } # keep\n", "x.a") == "y = 1\nx = {} # keep\n");
    CHECK(without("x = [{ a = 1 }]\n", "x[1].a") == "x = [{}]\n");
}

TEST_CASE("an edit that would read back otherwise changes nothing") {
    CHECK(without("x = { b.c = 1, b.d = 2, e = 3 }\n", "x.b") ==
          "plant.toml:1: x.b: cannot be edited alone: something else would be read differently; edit the text");
    CHECK(without("x = { b.c = 1, e = 3 }\n", "x.b") == "x = { e = 3 }\n");
}

TEST_CASE("a block goes with the comments that touch it") {
    CHECK(without(press, "fault[2]") == press.substr(0, press.find("# the second")) + "# the end\n");
    CHECK(without(press, "fault[1]") ==
          press.substr(0, press.find("[[fault]]")) + press.substr(press.find("# the second")));
    CHECK(without("#:schema s\n# about\n[a]\nb = 1\n\n[c]\nd = 1\n", "a") == "#:schema s\n# about\n\n[c]\nd = 1\n");
    CHECK(without("[[f]]\na = 1\n[f.e]\nb = 2\n\n[[f]]\na = 3\n", "f[1]") == "[[f]]\na = 3\n");
}

TEST_CASE("blocks of some kinds are replaced where the first stood") {
    constexpr std::array<std::string_view, 2> kinds{"fault", "demand"};
    const std::string rest = press.substr(0, press.find("[[fault]]"));
    CHECK(said(sim::with_blocks(written(press), kinds, "[[demand]]\nat = 1\n")) ==
          rest + "[[demand]]\nat = 1\n\n# the end\n");
    CHECK(said(sim::with_blocks(written(press), kinds, "")) == rest + "# the end\n");
    CHECK(said(sim::with_blocks(written("a = 1"), kinds, "[[fault]]\nb = 2\n\n")) == "a = 1\n\n[[fault]]\nb = 2\n");
    CHECK(said(sim::with_blocks(written("a = 1\n"), kinds, "")) == "a = 1\n");
    CHECK(said(sim::with_blocks(written("a = 1\n"), kinds, "[[link]]\nb = 2\n")) ==
          "plant.toml: link: is no block of what is replaced");
    CHECK(said(sim::with_blocks(written("fault = []\n"), kinds, "")) ==
          "plant.toml:1: fault: is written as a list; write it as [[fault]] blocks");
    CHECK(said(sim::with_blocks(written(press), kinds, "[[fault]\n")).find("cannot be read") != std::string::npos);
}

TEST_CASE("a path without an end is refused at once") {
    std::string path = "*";
    for (int i = 0; i < 40; ++i) path += ".*";
    CHECK(typed(press, path.c_str(), "1") == "1");
    for (int i = 0; i < 300'000; ++i) path += ".a[1]";
    CHECK(typed(press, path.c_str(), "1").ends_with("is no path of a key; write link.watchdog, or fault[3].at"));
    CHECK(with(press, path.c_str(), "1").ends_with("is no path of a key; write link.watchdog, or fault[3].at"));
    CHECK_FALSE(sim::value_at(written(press), path).has_value());
}

TEST_CASE("what a person types becomes what the file takes") {
    CHECK(typed(press, "link.watchdog", "80 ms") == "\"80 ms\"");
    CHECK(typed(press, "link.watchdog", "  80 ms ") == "\"80 ms\"");
    CHECK(typed(press, "link.watchdog", "80") == "\"80\"");
    CHECK(typed(press, "link.watchdog", "\"80 ms\"") == "\"80 ms\"");
    CHECK(typed(press, "link.payload", "23") == "23");
    CHECK(typed(press, "link.payload", "0x17") == "0x17");
    CHECK(typed(press, "link.payload", "many") == "\"many\"");
    CHECK(typed(press, "controller.address", "0x17") == "\"0x17\"");  // as it stands there
    CHECK(typed(press, "device.address", "23") == "\"23\"");          // as at the other end
    CHECK(typed("a = 1\n", "device.address", "23") == "23");
    CHECK(typed("a = 1\n", "device.address", "0x23") == "0x23");
    CHECK(typed(press, "channel.loss", "1e-4") == "1e-4");
    CHECK(typed(press, "channel.keep_order", "false") == "false");
    CHECK(typed(press, "title", "false") == "\"false\"");
    CHECK(typed(press, "title", "7") == "\"7\"");
    CHECK(typed(press, "title", "say \"no\" \\ \t\n twice") == R"("say \"no\" \\ \t\n twice")");
    CHECK(typed(press, "title", "[new] press") == "\"[new] press\"");
    CHECK(typed(press, "title", "[1]") == "\"[1]\"");
    CHECK(typed(press, "signal[1].all_of", "[\"a\", \"b\"]") == "[\"a\", \"b\"]");
    CHECK(typed(press, "bits.flap", "0.3") == "\"0.3\"");
    CHECK(typed(press, "link[1].device.address", "7") == "\"7\"");
    CHECK(typed(press, "fault[1].expect", "{ outcome = \"safe-state\" }") == "{ outcome = \"safe-state\" }");
    CHECK(typed(press, "fault[1].times", "3") == "3");
    CHECK(typed(press, "channel.delay", "{ preset = \"5g-campus\" }") == "{ preset = \"5g-campus\" }");
    CHECK_FALSE(sim::as_toml(written(press), "title", "\xFF").ok());
}
