#include "tools/check/findings.hpp"

#include <array>
#include <filesystem>

#include "tools/text/addresses.hpp"
#include "tools/text/junit.hpp"
#include "tools/text/look_up.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

using Rule = Finding::Rule;

struct RuleWords {
    Rule rule;
    std::string_view id, says;
};
constexpr std::array rules{
    RuleWords{Rule::not_read, "not-read", "The file cannot be read: something in it is wrong, unknown or missing."},
    RuleWords{Rule::ends_differ, "ends-differ", "The two ends of the link have different values of a setting."},
    RuleWords{Rule::problem, "problem",
              "The link or the guards cannot do what they are for, though the file is right."},
    RuleWords{Rule::promise_broken, "promise-broken", "A drill does not show what it promises."},
    RuleWords{Rule::caution, "caution", "Somebody should know this; nothing is wrong."},
};

/// As it is printed; empty where it is not there.
std::string text_of(const Value& object, std::string_view key) { return scalar_text(look_up(object, key)); }

/// What is typed at an end; of addresses as they were typed there.
std::string typed_at(const Value& difference, std::string_view end) {
    return addresses_in_words(look_up(look_up(difference, "addresses"), end), text_of(difference, end));
}

std::string difference_in_words(const Value& difference) {
    const std::string mend = text_of(difference, "mend"), note = text_of(difference, "note");
    const bool at_an_end = !text_of(difference, "mend_at").empty();
    const std::string link = text_of(difference, "link");
    return (link.empty() ? "" : "link " + link + ": ") + text_of(difference, "setting") + ": controller " +
           typed_at(difference, "controller") + ", device " + typed_at(difference, "device") +
           (note.empty() ? "" : " (" + note + ")") +
           (mend.empty() ? "" : (at_an_end ? "; mend at " : "; mend: ") + mend);
}

void add_broken(const Value& drill, std::vector<Finding>& all) {
    for (const Value& promise : look_up_list(drill, "promises")) {
        if (look_up(promise, "kept").is_true()) continue;
        const Value* line = promise.find("line");
        const auto* number = line ? std::get_if<std::int64_t>(&line->content()) : nullptr;
        all.push_back({.rule = Rule::promise_broken,
                       .file = text_of(drill, "file"),
                       .line = number ? static_cast<int>(*number) : 0,
                       .key = text_of(promise, "key"),
                       .message = "promised " + text_of(promise, "promised") + ", shown " + text_of(promise, "shown") +
                                  "; " + text_of(promise, "mend")});
    }
}

/// A path as a reference of RFC 3986: what may not stand in one is written in hex.
std::string uri_of(const std::string& file) {
    constexpr std::string_view digits = "0123456789ABCDEF";
    constexpr std::string_view plain_too = "-._~/";
    const std::string path = std::filesystem::path(file).generic_string();
    std::string uri = path.starts_with('/') ? "file://" : "";
    for (const char c : path) {
        const auto byte = static_cast<unsigned char>(c);
        const bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
        if (letter || plain_too.find(c) != std::string_view::npos)
            uri += c;
        else
            uri += {'%', digits[byte >> 4U], digits[byte & 15U]};
    }
    return uri;
}

Value result_of(const Finding& finding) {
    Value::Object physical{{"artifactLocation", Value::Object{{"uri", uri_of(finding.file)}}}};
    if (finding.line > 0) physical.push_back({"region", Value::Object{{"startLine", finding.line}}});
    Value::Object location{{"physicalLocation", std::move(physical)}};
    if (!finding.key.empty())
        location.push_back({"logicalLocations", Value::List{Value::Object{{"fullyQualifiedName", finding.key}}}});
    const std::string text = finding.key.empty() ? finding.message : finding.key + ": " + finding.message;
    return Value::Object{{"ruleId", id_of(finding.rule)},
                         {"ruleIndex", static_cast<unsigned>(finding.rule)},
                         {"level", finding.fails() ? "error" : "warning"},
                         {"message", Value::Object{{"text", on_one_line(text)}}},
                         {"locations", Value::List{std::move(location)}}};
}

Value described_rules() {
    Value::List all;
    for (const RuleWords& one : rules)
        all.push_back(Value::Object{
            {"id", one.id},
            {"shortDescription", Value::Object{{"text", one.says}}},
            {"defaultConfiguration", Value::Object{{"level", one.rule == Rule::caution ? "warning" : "error"}}}});
    return all;
}

}  // namespace

std::string_view id_of(Rule rule) { return rules[static_cast<std::size_t>(rule)].id; }

std::string Finding::one_line() const { return Failure{Status::not_met, file, line, key, message}.one_line(); }

std::vector<Finding> findings_in(const std::string& file, const Value& document) {
    std::vector<Finding> all;
    for (const Value& difference : look_up_list(document, "differences"))
        all.push_back({.rule = Rule::ends_differ, .file = file, .key = {}, .message = difference_in_words(difference)});
    const Value::List& drills = look_up_list(document, "drills");
    for (const Value& drill : drills) add_broken(drill, all);
    // those of drills are their promises
    if (drills.empty())
        for (const Value& problem : look_up_list(document, "problems"))
            all.push_back({.rule = Rule::problem, .file = file, .key = {}, .message = scalar_text(problem)});
    for (const Value& finding : look_up_list(document, "lists")) {
        const Value* line = finding.find("line");
        const auto* number = line ? std::get_if<std::int64_t>(&line->content()) : nullptr;
        const std::string list = text_of(finding, "file");
        all.push_back({.rule = Rule::problem,
                       .file = list.empty() ? file : list,
                       .line = number ? static_cast<int>(*number) : 0,
                       .key = text_of(finding, "word"),
                       .message = text_of(finding, "message")});
    }
    for (const Value& caution : look_up_list(document, "cautions"))
        all.push_back({.rule = Rule::caution, .file = file, .key = {}, .message = scalar_text(caution)});
    return all;
}

Finding finding_of(const std::string& file, const Failure& failure) {
    return {.rule = Rule::not_read,
            .file = failure.file.empty() ? file : failure.file,
            .line = failure.line,
            .key = failure.key,
            .message = failure.message};
}

Value sarif_of(const std::vector<CheckedFile>& files) {
    Value::List results;
    for (const CheckedFile& file : files)
        for (const Finding& finding : file.findings) results.push_back(result_of(finding));
    const Value driver =
        Value::Object{{"name", "linkdrill"}, {"version", LINKDRILL_VERSION}, {"rules", described_rules()}};
    return Value::Object{
        {"$schema", "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"},
        {"version", "2.1.0"},
        {"runs",
         Value::List{Value::Object{{"tool", Value::Object{{"driver", driver}}}, {"results", std::move(results)}}}}};
}

std::string junit_of(const std::vector<CheckedFile>& files) {
    std::vector<JUnitSuite> suites;
    for (const CheckedFile& file : files) {
        JUnitSuite suite{.name = file.file, .classname = "check"};
        for (const Finding& finding : file.findings) {
            if (!finding.fails()) continue;
            const std::string name = finding.key.empty() ? std::string(id_of(finding.rule)) : finding.key;
            suite.cases.push_back(
                {.name = name, .failure_type = std::string(id_of(finding.rule)), .message = finding.one_line()});
        }
        if (suite.cases.empty()) suite.cases.push_back({.name = "as it should be"});
        suites.push_back(std::move(suite));
    }
    return junit_of(suites);
}

}  // namespace tools
