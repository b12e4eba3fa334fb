#include "tools/text/junit.hpp"

#include <algorithm>
#include <optional>
#include <string_view>
#include <vector>

namespace tools {
namespace {

/// Bytes of the well-formed UTF-8 character (RFC 3629) at the begin of `text`, 0 if there is none; `code` is its
/// number.
std::size_t character_at(std::string_view text, std::uint32_t& code) {
    const auto byte = [&](std::size_t i) { return static_cast<std::uint32_t>(static_cast<unsigned char>(text[i])); };
    const std::uint32_t first = byte(0);
    if (first < 0x80) {
        code = first;
        return 1;
    }
    const std::size_t length = first >= 0xF0 ? 4 : first >= 0xE0 ? 3 : 2;
    if (first < 0xC2 || first > 0xF4 || text.size() < length) return 0;
    code = first & (0x7FU >> length);
    for (std::size_t i = 1; i < length; ++i) {
        if ((byte(i) & 0xC0U) != 0x80U) return 0;
        code = (code << 6) | (byte(i) & 0x3FU);
    }
    const bool overlong = (length == 3 && code < 0x800) || (length == 4 && code < 0x10000);
    const bool surrogate = code >= 0xD800 && code <= 0xDFFF;
    return overlong || surrogate || code > 0x10FFFF ? 0 : length;
}

/// Production 2, Char, of XML 1.0; C1 control characters and DEL are let in there, but not here.
bool allowed_in_xml(std::uint32_t code) {
    if (code == '\t' || code == '\n' || code == '\r') return true;
    return code >= 0x20 && code != 0xFFFE && code != 0xFFFF && !(code >= 0x7F && code < 0xA0);
}

using Case = JUnitCase;

std::string attribute(std::string_view name, std::string_view value) {
    return " " + std::string(name) + "=\"" + xml_text(value) + "\"";
}

std::optional<proto::Duration> duration(const Value* value) {
    const proto::Duration* time = value ? std::get_if<proto::Duration>(&value->content()) : nullptr;
    return time ? std::optional(*time) : std::nullopt;
}

/// Seconds in decimal. Ends at the millisecond: some readers know no finer numbers.
std::string in_seconds(proto::Duration time) {
    const std::int64_t ms = std::max<std::int64_t>(time.ns, 0) / 1'000'000;
    const std::string decimals = std::to_string(1000 + ms % 1000).substr(1);
    return std::to_string(ms / 1000) + "." + decimals;
}

std::string member_text(const Value& object, std::string_view key) {
    const Value* value = object.find(key);
    return value ? scalar_text(*value) : std::string();
}

bool member_true(const Value& object, std::string_view key) {
    const Value* value = object.find(key);
    return value && value->is_true();
}

Case case_of_injection(const Value& injection) {
    Case out;
    const std::string words = member_text(injection, "words");
    out.name =
        "injection " + member_text(injection, "id") + ": " + (words.empty() ? member_text(injection, "error") : words);
    out.time = duration(injection.find("standstill_ms"));
    if (const Value* safe = injection.find("safe_state_ms"); safe && !out.time) {
        out.time = std::max(duration(safe->find("controller")), duration(safe->find("device")));
    }
    const std::string outcome = member_text(injection, "outcome");
    // A danger that the scenario expects is a danger all the same.
    if (outcome == "dangerous")
        out.failure_type = "dangerous";
    else if (!member_true(injection, "as_expected"))
        out.failure_type = "not-as-expected";
    else if (!member_true(injection, "within_limit"))
        out.failure_type = "over-the-limit";
    if (out.failure_type.empty()) return out;

    out.message = "outcome " + outcome;
    if (const std::string expected = member_text(injection, "expected"); !expected.empty())
        out.message += ", expected " + expected;
    if (out.failure_type == "over-the-limit")
        out.message += ", standstill after " + member_text(injection, "standstill_ms") + " ms, allowed " +
                       member_text(injection, "allowed_ms") + " ms";
    if (const std::string why = member_text(injection, "why"); !why.empty()) out.message += ": " + why;
    return out;
}

/// Met only if each of its guards, alone and from motion, did what it must.
Case case_of_function(const Value& function) {
    Case out;
    out.name = "function: " + member_text(function, "name");
    out.time = duration(function.find("worst_ms"));
    out.message = member_text(function, "why");
    if (member_true(function, "met")) return out;
    out.skipped = member_text(function, "met") == "not-shown";
    if (!out.skipped) out.failure_type = "not-met";
    return out;
}

std::vector<Case> cases_of(const Value& run) {
    std::vector<Case> cases;
    // what was met in a run that nobody may judge is no passed test
    if (member_text(run, "verdict") == "not-judged")
        return {{"the run can be judged",
                 {},
                 "not-judged",
                 "too late, or not all of it was recorded; see the remarks",
                 {}}};
    if (const Value* injections = run.find("injections"); injections && injections->list())
        for (const Value& injection : *injections->list()) cases.push_back(case_of_injection(injection));
    if (const Value* functions = run.find("functions"); functions && functions->list())
        for (const Value& function : *functions->list())
            if (member_true(function, "stated")) cases.push_back(case_of_function(function));

    static const Value nothing;
    const Value& twin = run.find("twin") ? *run.find("twin") : nothing;
    Case spurious{"twin: without faults nothing stops", {}, {}, {}, {}};
    if (!member_true(run, "link_started")) {
        spurious.failure_type = "not-started";
        spurious.message = "the link did not start";
    } else if (const std::string trips = member_text(twin, "spurious_trips"); trips != "0") {
        spurious.failure_type = "stops-for-nothing";
        spurious.message = trips + " stops for nothing with the faults off";
    }
    cases.push_back(std::move(spurious));

    const Value& response = run.find("response") ? *run.find("response") : nothing;
    const auto seen = duration(response.find("worst_seen_ms"));
    const auto bound = duration(response.find("bound_ms"));
    Case within{"bound: no response over the bound", seen, {}, {}, {}};
    if (seen && bound && *seen > *bound) {
        within.failure_type = "over-the-bound";
        within.message = "seen " + exact_ms(*seen) + " ms, bound " + exact_ms(*bound) + " ms";
    }
    // nothing of a link that never ran was within anything
    within.skipped = within.failure_type.empty() && !member_true(run, "link_started");
    if (within.skipped) within.message = "the link never ran";
    cases.push_back(std::move(within));

    Case recovery{"recovery: after every stop an acknowledgement brings the link back", {}, {}, {}, {}};
    if (!member_true(twin, "recovered")) {
        recovery.failure_type = "not-recovered";
        recovery.message = "after a stop the link did not come back as it should";
    }
    cases.push_back(std::move(recovery));
    // a run may fail by what no single test says, such as ends that differ in what is not rehearsed
    const bool failed =
        std::any_of(cases.begin(), cases.end(), [](const Case& one) { return !one.failure_type.empty(); });
    if (!failed && member_text(run, "verdict") != "pass") {
        const Value* const remarks = run.find("remarks");
        const bool told = remarks != nullptr && remarks->list() && !remarks->list()->empty();
        cases.push_back({"verdict",
                         {},
                         member_text(run, "verdict"),
                         told ? scalar_text(remarks->list()->front()) : std::string("see the page"),
                         {}});
    }
    return cases;
}

struct Counts {
    std::size_t tests = 0, failures = 0, skipped = 0;
    proto::Duration time{};
};

proto::Duration added(proto::Duration sum, proto::Duration more) {
    return more.ns > 0 && sum.ns <= INT64_MAX - more.ns ? sum + more : sum;
}

Counts counts_of(const std::vector<Case>& cases) {
    Counts counts;
    counts.tests = cases.size();
    for (const Case& c : cases) {
        counts.failures += c.failure_type.empty() ? 0U : 1U;
        counts.skipped += c.skipped ? 1U : 0U;
        if (c.time) counts.time = added(counts.time, *c.time);
    }
    return counts;
}

std::string attributes_of(const Counts& counts) {
    return attribute("tests", std::to_string(counts.tests)) + attribute("failures", std::to_string(counts.failures)) +
           attribute("errors", "0") + attribute("time", in_seconds(counts.time));
}

std::string written(const Case& c, const std::string& classname) {
    std::string out = "    <testcase" + attribute("name", c.name) + attribute("classname", classname) +
                      attribute("time", in_seconds(c.time.value_or(proto::Duration{})));
    if (c.skipped) return out + ">\n      <skipped" + attribute("message", c.message) + "/>\n    </testcase>\n";
    if (c.failure_type.empty()) return out + "/>\n";
    return out + ">\n      <failure" + attribute("type", c.failure_type) + attribute("message", c.message) + ">" +
           xml_text(c.message) + "</failure>\n    </testcase>\n";
}

}  // namespace

std::string xml_text(std::string_view text) {
    std::string out;
    while (!text.empty()) {
        std::uint32_t code = 0;
        const std::size_t length = character_at(text, code);
        if (length == 0 || !allowed_in_xml(code))
            out += "\xEF\xBF\xBD";
        else if (code == '<')
            out += "&lt;";
        else if (code == '>')
            out += "&gt;";
        else if (code == '&')
            out += "&amp;";
        else if (code == '"')
            out += "&quot;";
        else if (code < 0x20)
            out += "&#" + std::to_string(code) + ";";  // else an attribute would turn it into a blank
        else
            out += text.substr(0, length);
        text.remove_prefix(std::max<std::size_t>(length, 1));
    }
    return out;
}

std::string junit_of(const std::vector<JUnitSuite>& suites) {
    Counts sum;
    std::string body;
    for (const JUnitSuite& suite : suites) {
        const Counts counts = counts_of(suite.cases);
        sum.tests += counts.tests;
        sum.failures += counts.failures;
        sum.time = added(sum.time, counts.time);
        body += "  <testsuite" + attribute("name", suite.name) + attributes_of(counts) +
                attribute("skipped", std::to_string(counts.skipped)) + ">\n";
        if (!suite.properties.empty()) body += "    <properties>\n";
        for (const auto& [name, value] : suite.properties)
            body += "      <property" + attribute("name", name) + attribute("value", value) + "/>\n";
        if (!suite.properties.empty()) body += "    </properties>\n";
        for (const Case& c : suite.cases) body += written(c, suite.classname);
        body += "  </testsuite>\n";
    }
    return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites" + attribute("name", "linkdrill") +
           attributes_of(sum) + ">\n" + body + "</testsuites>\n";
}

std::string to_junit(const Value& run) {
    const std::string title = member_text(run, "title"), scenario = member_text(run, "scenario");
    JUnitSuite suite{.name = title.empty() ? scenario : title, .classname = scenario, .cases = cases_of(run)};
    for (const char* key : {"scenario", "version", "seed", "verdict", "digest"})
        suite.properties.emplace_back(key, member_text(run, key));
    return junit_of({suite});
}

}  // namespace tools
