// JSON, CSV and JUnit of a rehearsal.
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "samples.hpp"
#include "tools/check/check_page.hpp"
#include "tools/run/describe_run.hpp"
#include "tools/text/csv.hpp"
#include "tools/text/json.hpp"
#include "tools/text/junit.hpp"

using tools::Value;

namespace {

void check_keys(const Value* object, const std::vector<std::string>& keys) {
    REQUIRE(object != nullptr);
    for (const std::string& key : keys) {
        CAPTURE(key);
        CHECK(object->find(key) != nullptr);
    }
}

std::vector<std::string> split(const std::string& text, const std::string& at) {
    std::vector<std::string> parts;
    std::size_t begin = 0;
    for (std::size_t end = text.find(at); end != std::string::npos; end = text.find(at, begin)) {
        parts.push_back(text.substr(begin, end - begin));
        begin = end + at.size();
    }
    parts.push_back(text.substr(begin));
    return parts;
}

}  // namespace

TEST_CASE("a rehearsal has every key that programs rely on, also where nothing was found") {
    for (const samples::Rehearsed& r : {samples::usual(), samples::extreme(), samples::Rehearsed{}}) {
        const Value run = tools::describe(r.scenario, r.result);
        check_keys(&run, {"scenario", "mode", "seed", "verdict", "as_expected", "digest", "cycles", "spurious_trips",
                          "twin", "time_scale", "injections", "response", "lateness_ms"});
        check_keys(run.find("twin"), {"spurious_trips", "recovered"});
        check_keys(run.find("response"), {"bound_ms", "worst_seen_ms", "required_ms"});
        const Value injection = tools::describe_injection(r.scenario, sim::InjectionResult{});
        std::vector<Value> injections{injection};
        for (const Value& one : *run.find("injections")->list()) injections.push_back(one);
        for (const Value& one : injections) {
            check_keys(&one, {"id", "fault", "error", "direction", "at_ms", "outcome", "latent", "detected_by",
                              "also_by", "owing_to", "detected_end", "detect_ms", "safe_state_ms", "standstill_ms",
                              "allowed_ms", "within_limit", "expected", "as_expected"});
            check_keys(one.find("safe_state_ms"), {"controller", "device"});
        }
    }
}

TEST_CASE("milliseconds are exact decimals, hex values are strings, what does not exist is null") {
    const samples::Rehearsed r = samples::usual();
    const std::string json = tools::to_json(tools::describe(r.scenario, r.result));
    CHECK(json.find("\"detect_ms\": 0.2,") != std::string::npos);
    CHECK(json.find("\"standstill_ms\": 134.2,") != std::string::npos);
    CHECK(json.find("\"allowed_ms\": 235,") != std::string::npos);
    CHECK(json.find(R"("digest": "0x9C1E04B752ADE310")") != std::string::npos);
    CHECK(json.find("\"detected_by\": null") != std::string::npos);
    CHECK(json.find("\"lateness_ms\": null") != std::string::npos);
    CHECK(json.find(R"("detected_by": "integrity")") != std::string::npos);
    CHECK(tools::exact_ms(proto::Duration{1}) == "0.000001");
    CHECK(tools::exact_ms(proto::Duration{-1'500'000}) == "-1.5");
    CHECK(tools::to_json(Value(proto::Duration{123'456'789'012'345})) == "123456789.012345\n");
}

TEST_CASE("bytes that are no UTF-8 do not stop JSON, and keys keep their order") {
    CHECK(tools::to_json(Value("a\xFF")) == "\"a\xEF\xBF\xBD\"\n");
    CHECK(tools::to_json(Value::Object{{"z", 1}, {"a", Value()}}) == "{\n  \"z\": 1,\n  \"a\": null\n}\n");
    const samples::Rehearsed r = samples::extreme();
    CHECK(tools::to_json(tools::describe(r.scenario, r.result)).size() > 1000);
}

TEST_CASE("a cross-check has every key that programs rely on") {
    tools::CheckFound check;
    check.ends.differences.emplace_back();
    check.functions.rows.emplace_back();
    const Value document = tools::describe(check);
    check_keys(&document,
               {"ok", "compared", "signature", "differences", "problems", "undetectable", "cautions", "functions"});
    check_keys(&document.find("functions")->list()->front(),
               {"name", "safeguard", "machine", "must", "does", "ok", "why", "stated", "level"});
    check_keys(&document.find("differences")->list()->front(),
               {"setting", "controller", "device", "seen_at_controller", "seen_at_device", "mend"});
}

TEST_CASE("the page of a cross-check keeps to its width") {
    const samples::Rehearsed r = samples::extreme();
    const std::string& long_text = r.scenario.title;
    tools::CheckFound check;
    check.ends.differences.resize(3);
    for (auto& d : check.ends.differences)
        d.setting = d.controller = d.device = d.seen_at_controller = d.mend = long_text;
    check.ends.cautions = {long_text};
    for (const std::size_t columns : {1UL, 80UL, 100UL, 200UL}) {
        const tools::Columns c = tools::Columns::of_terminal(columns);
        const std::string text = page_of(r.scenario, check, c).text(tools::Colour::off);
        for (const std::string& line : split(text, "\n")) CHECK(line.size() <= c.count);
        CHECK(text.starts_with("ENDS DISAGREE  "));
    }
    CHECK(page_of(r.scenario, tools::CheckFound{}, tools::Columns{})
              .text(tools::Colour::off)
              .starts_with("ENDS AGREE  "));
}

TEST_CASE("CSV: units in the header, one row each, quotes by RFC 4180") {
    const Value::List rows{
        Value::Object{{"name", "say \"stop\", now\nor later"},
                      {"delay_ms", proto::Duration{1'500'000}},
                      {"safe_ms", Value::Object{{"controller", Value()}, {"device", proto::milliseconds(2)}}},
                      {"also", Value::list_of({"a", "b"})}}};
    CHECK(tools::to_csv(rows, rows.front()) ==
          "name,delay (ms),safe controller (ms),safe device (ms),also\r\n"
          "\"say \"\"stop\"\", now\nor later\",1.5,,2,a b\r\n");
}

TEST_CASE("CSV: no text is taken for a formula, numbers stay numbers") {
    for (const char* text : {"=1+1", "+1", "-1", "@A1", "  =1", "\t=1"}) {
        CAPTURE(text);
        const Value::List rows{Value::Object{{"name", text}}};
        CHECK(tools::to_csv(rows, rows.front()).find("\r\n'") != std::string::npos);
    }
    const Value::List number{Value::Object{{"spare_ms", proto::milliseconds(-4)}}};
    CHECK(tools::to_csv(number, number.front()) == "spare (ms)\r\n-4\r\n");
}

TEST_CASE("CSV of a rehearsal without injections still has its header") {
    const std::string csv = tools::to_csv({}, tools::describe_injection(sim::Scenario{}, sim::InjectionResult{}));
    CHECK(csv.starts_with("id,fault,error,direction,at_end,at (ms),"));
    CHECK(csv.find("safe_state controller (ms),safe_state device (ms)") != std::string::npos);
    CHECK(split(csv, "\r\n").size() == 2);
}

TEST_CASE("XML text: markup is escaped, what XML 1.0 cannot hold is replaced") {
    CHECK(tools::xml_text("<a href=\"x\">&'</a>") == "&lt;a href=&quot;x&quot;&gt;&amp;'&lt;/a&gt;");
    CHECK(tools::xml_text("a\nb") == "a&#10;b");
    const std::string replaced = "\xEF\xBF\xBD";
    CHECK(tools::xml_text(std::string("a\0b", 3)) == "a" + replaced + "b");
    CHECK(tools::xml_text("\x1b[31m") == replaced + "[31m");
    CHECK(tools::xml_text("\xED\xA0\x80") == replaced + replaced + replaced);  // a surrogate
    CHECK(tools::xml_text("\xEF\xBF\xBF") == replaced);                        // U+FFFF
    CHECK(tools::xml_text("\xC0\xAF") == replaced + replaced);                 // overlong
    CHECK(tools::xml_text("B\xC3\xBChne \xF0\x9F\x8E\xAD") == "B\xC3\xBChne \xF0\x9F\x8E\xAD");
    CHECK(tools::xml_text("\xC3") == replaced);
}

TEST_CASE("JUnit: a case for each injection, and twin, bound and recovery") {
    const samples::Rehearsed r = samples::usual();
    const std::string xml = tools::to_junit(tools::describe(r.scenario, r.result));
    CHECK(split(xml, "<testcase ").size() - 1 == r.result.injections.size() + 3);
    CHECK(xml.find(R"(tests="5" failures="1")") != std::string::npos);
    CHECK(xml.find("<failure type=\"dangerous\"") != std::string::npos);
    CHECK(xml.find("time=\"0.134\"") != std::string::npos);
}

TEST_CASE("JUnit: a case for each function: met passes, not met fails with its reason, not shown is skipped with it") {
    samples::Rehearsed r = samples::guarded();
    const std::string xml = tools::to_junit(tools::describe(r.scenario, r.result));
    std::size_t met = 0, not_met = 0, not_shown = 0;
    for (const sim::FunctionResult& function : r.result.functions) {
        const std::string& name = r.scenario.functions[function.function].name;
        const std::size_t at = xml.find("<testcase name=\"function: " + tools::xml_text(name) + "\"");
        CAPTURE(name);
        REQUIRE(at != std::string::npos);
        const std::string rest = xml.substr(xml.find('>', at) - 1);
        met += static_cast<std::size_t>(function.met == sim::Met::yes && rest.starts_with("/>"));
        not_met += static_cast<std::size_t>(function.met == sim::Met::no &&
                                            rest.find(R"(<failure type="not-met" message=")") < 16);
        not_shown +=
            static_cast<std::size_t>(function.met == sim::Met::not_shown && rest.find("<skipped message=\"") < 16);
        if (function.met == sim::Met::no)
            CHECK(rest.find("it took 623 ms from the contact, and 596 ms are allowed") < rest.find("</testcase>"));
        if (function.met == sim::Met::not_shown) CHECK(rest.find(function.why) < rest.find("</testcase>"));
    }
    CHECK(met + not_met + not_shown == r.result.functions.size());
    CHECK(met > 0);
    CHECK(not_met > 0);
    CHECK(not_shown > 0);
    CHECK(xml.find("skipped=\"" + std::to_string(not_shown) + "\"") != std::string::npos);
    // where nothing is stated there is nothing to be met
    r.scenario.functions.clear();
    r.result.functions.clear();
    CHECK(tools::to_junit(tools::describe(r.scenario, r.result)).find("function: ") == std::string::npos);
}

TEST_CASE(
    "JUnit: a danger that was expected, a missed expectation, a missed limit and a link that did not start all fail") {
    samples::Rehearsed r = samples::usual();
    r.result.injections.resize(1);
    const auto junit = [&] { return tools::to_junit(tools::describe(r.scenario, r.result)); };
    // what no single test says
    r.result.verdict = sim::RunVerdict::fail;
    r.result.remarks = {"The ends differ in firmware."};
    CHECK(junit().find("<failure type=\"fail\" message=\"The ends differ in firmware.\"") != std::string::npos);
    r.result.verdict = sim::RunVerdict::pass;
    CHECK(junit().find("<failure") == std::string::npos);
    r.result.injections[0].within_limit = false;
    CHECK(junit().find("type=\"over-the-limit\"") != std::string::npos);
    r.result.injections[0].as_expected = false;
    CHECK(junit().find("type=\"not-as-expected\"") != std::string::npos);
    r.result.twin.spurious_trips = 2;
    CHECK(junit().find("type=\"stops-for-nothing\"") != std::string::npos);
    r.result.link_started = false;
    CHECK(junit().find("type=\"not-started\"") != std::string::npos);
    r.result.worst_seen = proto::milliseconds(248);
    CHECK(junit().find("type=\"over-the-bound\"") != std::string::npos);
    r.result.twin.recovered = false;
    CHECK(junit().find("type=\"not-recovered\"") != std::string::npos);
}
