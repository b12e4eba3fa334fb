// What a rehearsal says about guards: the page, and under which keys programs find it.
#include <algorithm>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "samples.hpp"
#include "tools/run/describe_guards.hpp"
#include "tools/run/describe_run.hpp"
#include "tools/run/run_page.hpp"
#include "tools/text/csv.hpp"
#include "tools/text/json.hpp"
#include "tools/text/look_up.hpp"

using tools::look_up;
using tools::look_up_list;
using tools::look_up_text;
using tools::scalar_text;
using tools::Value;

namespace {

std::string page(const samples::Rehearsed& r, std::size_t columns = 100) {
    const tools::RunPageNotes notes{"evidence", {"result.json"}};
    return page_of(r.scenario, r.result, notes, tools::Columns::of_terminal(columns)).text(tools::Colour::off);
}

/// The line that begins so, its blanks one each; empty if there is none.
std::string line_of(const std::string& text, const std::string& begin) {
    const std::size_t at = text.find("\n" + begin);
    if (at == std::string::npos) return {};
    std::string line = text.substr(at + 1, text.find('\n', at + 1) - at - 1);
    const auto twice = [](char a, char b) { return a == ' ' && b == ' '; };
    line.erase(std::unique(line.begin(), line.end(), twice), line.end());
    return line;
}

/// All of it as one line, for sentences that wrap.
std::string in_one(std::string text) {
    std::replace(text.begin(), text.end(), '\n', ' ');
    const auto twice = [](char a, char b) { return a == ' ' && b == ' '; };
    text.erase(std::unique(text.begin(), text.end(), twice), text.end());
    return text;
}

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

/// The injection slows the machine and does not stop it.
samples::Rehearsed only_slowed() {
    samples::Rehearsed r = samples::usual();
    r.scenario.machine->reduced_speed_um_s = 120'000;
    r.result.injections[0].reduced = proto::milliseconds(548);
    r.result.injections[0].standstill.reset();
    r.result.injections[0].allowed = proto::milliseconds(848);
    return r;
}

}  // namespace

TEST_CASE("a demand is a row, its signal a line, and why it is not met stands under it") {
    const std::string text = page(samples::guarded());
    CHECK(line_of(text, "guard ") == "guard opened computed 1->0 1->0 command machine reduced stands allowed met");
    CHECK(line_of(text, "flap ") == "flap 2.004 s 9.0 ms stops 289 ms 329 ms 596 ms met");
    CHECK(line_of(text, "  guards_closed ") == " guards_closed 6.0 ms 7.0 ms 9.0 ms");
    CHECK(line_of(text, "pull_cord ") == "pull_cord 8.010 s 3.0 ms stops 543 ms 623 ms 596 ms NOT MET");
    CHECK(has(text, "    Not met: it took 623 ms from the contact, and 596 ms are allowed.\n"));
    CHECK(line_of(text, "mat ") == "mat 9.020 s 3.0 ms slows 548 ms - 596 ms met");
    CHECK(line_of(text, "pit_door ") == "pit_door 10.204 s - stood - - 596 ms not shown");
    CHECK(has(text, " was 0\n"));
    CHECK(has(text, "    Not shown: the rollers stood already.\n"));
}

TEST_CASE("a guard that reaches no output has a row that says so, and no standstill of another cause") {
    const std::string text = page(samples::guarded());
    CHECK(line_of(text, "hatch ") == "hatch 12.002 s - ran on - - - -");
    CHECK(has(text, "    It reaches no output: nothing obeys it.\n"));
    CHECK_FALSE(has(text, "2361"));
    CHECK(has(text, "Travelled  291 mm at most from a demand until it stood.\n"));
}

TEST_CASE("what is not as it must be comes first, and is not told a second time") {
    const std::string text = page(samples::guarded());
    CHECK(text.find("\npull_cord ") < text.find("\nhatch "));
    CHECK(text.find("\nhatch ") < text.find("\nflap "));
    CHECK_FALSE(has(text, "the cord came too late"));
    CHECK(has(text, "an old value was used"));
}

TEST_CASE("a function is a line: its verdict, its level, the worst and what it allows") {
    const std::string text = page(samples::guarded());
    CHECK(has(text, "\nmet        opening the flap stops the rollers (PL d): worst 329 ms, within 600 ms\n"));
    CHECK(has(text,
              "\nNOT MET    pulling the cord stops the rollers: worst 623 ms, within 600 ms\n"
              "           It took 623 ms from the contact, and 596 ms are allowed.\n"));
    CHECK(has(text, "\nnot shown  opening the pit door stops the rollers: worst -, within 600 ms\n"));
}

TEST_CASE("columns without meaning are left out, and a narrow terminal gets lines") {
    samples::Rehearsed r = samples::guarded();
    r.scenario.machine->reduced_speed_um_s = 0;
    CHECK_FALSE(has(page(r), "reduced"));
    samples::Rehearsed unseen = r;  // that nothing was sent or commanded is what is to be seen
    for (sim::DemandResult& demand : unseen.result.demands) {
        demand.command.reset();
        for (sim::DemandHop& hop : demand.hops) hop.sent = hop.received = std::nullopt;
    }
    CHECK(line_of(page(unseen), "  guards_closed ") == " guards_closed 6.0 ms - -");
    CHECK(line_of(page(unseen), "flap ") == "flap 2.004 s - stops 329 ms 596 ms met");
    const std::string narrow = page(r, 60);
    CHECK(has(narrow,
              "\nflap  contact opened 2.004 s\n    guards_closed: computed 6.0 ms, sent 1->0 7.0 ms,\n"
              "      received 1->0 9.0 ms\n    met\n      command 9.0 ms, stops, stands 329 ms, allowed 596 ms\n"));
}

TEST_CASE("guards of which nobody states what they must do: the verdict is of the link only") {
    samples::Rehearsed r = samples::guarded();
    r.scenario.functions.clear();
    r.result.function_rows.clear();
    r.result.functions.clear();
    CHECK(
        page(r).starts_with("DANGEROUS, link only: nothing states what the guards must do\n           Log debarker: "));
    r.result.verdict = sim::RunVerdict::pass;
    CHECK(page(r).starts_with("PASS, link only: nothing states what the guards must do\n      Log debarker: "));
    const Value run = tools::describe(r.scenario, r.result);
    const Value::List& functions = look_up_list(run, "functions");
    REQUIRE(functions.size() == 5);
    CHECK(look_up_text(functions[4], "name") == "hatch");
    for (const Value& one : functions) {
        CHECK_FALSE(look_up(one, "stated").is_true());
        CHECK(tools::is_null(look_up(one, "met")));
    }
    for (sim::Safeguard& guard : r.scenario.safeguards) guard.no_function = "out of reach";
    CHECK(page(r).starts_with("PASS  Log debarker: "));
}

TEST_CASE("a machine that only slowed down never stood, by any word") {
    const std::string text = page(only_slowed());
    CHECK(has(in_one(text),
              "After a fault the press was down to 120 mm/s and ran on, within 548 ms at most; 848 ms are allowed."));
    CHECK_FALSE(has(text, "stood"));
    CHECK_FALSE(has(text, "still"));
    CHECK(line_of(text, " 1 ") == " 1 1.000 s corruption, 3 bits C>D stopped I/O: CRC 0.2 ms 548 ms ran on");
    CHECK(has(in_one(text), "\"slowed\" until down to 120 mm/s, \"stands\" until the press stands"));
    CHECK(has(page(samples::usual()), "After a fault the press stood within 135 ms at most; 235 ms are allowed."));
    const Value run = tools::describe(only_slowed().scenario, only_slowed().result);
    const Value& injection = look_up_list(run, "injections").at(0);
    CHECK(scalar_text(look_up(injection, "reduced_ms")) == "548");
    CHECK(tools::is_null(look_up(injection, "standstill_ms")));
}

TEST_CASE("a demand for programs: an element for each reaction asked, the first hop's times beside all hops") {
    const samples::Rehearsed r = samples::guarded();
    const Value run = tools::describe(r.scenario, r.result);
    const Value::List& demands = look_up_list(run, "demands");
    REQUIRE(demands.size() == 5);
    const auto is = [](const Value& of, const char* key, const std::string& text) {
        CAPTURE(key);
        CHECK(scalar_text(look_up(of, key)) == text);
    };
    const Value& flap = demands[0];
    is(flap, "function", "opening the flap stops the rollers");
    is(flap, "must", "category-0");
    is(flap, "safeguard", "flap");
    is(flap, "link", "");
    is(flap, "at_ms", "2000");  // before the sensor's delay
    is(flap, "contact_ms", "2004");
    is(flap, "computed_ms", "6");
    is(flap, "sent_ms", "7");
    is(flap, "received_ms", "9");
    is(flap, "command_ms", "9");
    is(flap, "reduced_ms", "289");
    is(flap, "standstill_ms", "329");
    is(flap, "allowed_ms", "596");
    is(flap, "met", "true");
    is(flap, "machine", "rollers");
    is(flap, "machine_did", "stopped");
    const Value& hop = look_up_list(flap, "hops").at(0);
    is(hop, "signal", "guards_closed");
    is(hop, "received_ms", "9");
    is(hop, "was_zero", "false");
    is(demands[1], "met", "false");
    is(demands[2], "machine_did", "slowed");
    is(demands[3], "met", "not-shown");
    is(demands[3], "why", "the rollers stood already");
    CHECK(tools::is_null(look_up(demands[4], "function")));
    CHECK(tools::is_null(look_up(demands[4], "met")));
    is(demands[4], "machine_did", "ran-on");
    is(demands[4], "standstill_ms", "");
    is(run, "machine_started", "true");
    const Value& function = look_up_list(run, "functions").at(0);
    is(function, "level", "PL d");
    is(function, "met", "true");
    is(function, "worst_ms", "329");
    is(function, "within_ms", "600");
    is(function, "stated", "true");
}

TEST_CASE("a guard that two functions name has an element for each, and one row on its way") {
    samples::Rehearsed r = samples::guarded();
    r.result.function_rows.insert(r.result.function_rows.begin() + 1, {0, 2, 0, sim::Met::not_shown, {}, {}, "so"});
    const Value run = tools::describe(r.scenario, r.result);
    const Value::List& demands = look_up_list(run, "demands");
    REQUIRE(demands.size() == 6);
    CHECK(scalar_text(look_up(demands[0], "id")) == "1");
    CHECK(scalar_text(look_up(demands[1], "id")) == "1");
    CHECK(scalar_text(look_up(demands[2], "id")) == "2");
    const std::string text = page(r);
    CHECK(text.find("\nflap ") == text.rfind("\nflap "));
    CHECK(has(text, "    By \"opening the flap stops the rollers\".\n"));
    CHECK(has(text, "    By \"stepping on the mat slows the rollers\".\n    Not shown: so.\n"));
}

TEST_CASE("demands for a spreadsheet: a row for each hop, units in the header") {
    const samples::Rehearsed r = samples::guarded();
    const tools::DemandTable table = tools::demand_table(tools::describe_demands(r.scenario, r.result));
    const std::string csv = tools::to_csv(table.rows, table.pattern);
    CHECK(
        csv.starts_with("id,function,must,safeguard,at (ms),contact (ms),hop,link,signal,computed (ms),sent (ms),"
                        "received (ms),was_zero,command (ms),"));
    CHECK(
        has(csv, "\r\n1,opening the flap stops the rollers,category-0,flap,2000,2004,1,,guards_closed,6,7,9,false,9,"));
    CHECK(has(csv, "\r\n5,,,hatch,12000,12002,,,,,,,,,"));
    const tools::DemandTable none = tools::demand_table({});
    CHECK(tools::to_csv(none.rows, none.pattern).find("\r\n") == csv.find("\r\n"));
}
