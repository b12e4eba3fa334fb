#include "tools/desk/rehearsal_told.hpp"

#include <algorithm>
#include <utility>

#include "sim/scenario/plant.hpp"
#include "tools/desk/bench_words.hpp"
#include "tools/text/look_up.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

/// The plainer word for a measure that a document names.
std::string measure_words(const std::string& named) {
    for (std::size_t i = 0; i < proto::measure_count; ++i)
        if (proto::name_of(static_cast<proto::Measure>(i)) == named)
            return std::string(word_for(static_cast<proto::Measure>(i)));
    return named;
}

/// "press drive: watchdog", "nobody".
std::string caught_by(const Value& injection, const EndNamed& name_of_end) {
    const std::string measure = look_up_text(injection, "detected_by"), end = look_up_text(injection, "detected_end");
    if (measure.empty()) return look_up_text(injection, "outcome") == "dangerous" ? "nobody" : "";
    const std::string words = measure_words(measure);
    return end.empty() ? words : name_of_end(look_up_text(injection, "link"), end == "controller") + ": " + words;
}

std::string outcome_words(const std::string& outcome) {
    if (outcome == "safe-state") return "stopped";
    if (outcome == "no-effect") return "no effect";
    if (outcome == "dangerous") return "DANGEROUS";
    if (outcome == "never-ran") return "never ran";
    return outcome == "not-fired" ? "not fired" : outcome;
}

/// When the machine stood that took longest, and what is allowed for it; of a link without one how soon its end was
/// safe.
struct Stood {
    Value at, allowed;
};
Stood stood(const Value& injection) {
    const Value::List& machines = look_up_list(injection, "machines");
    Stood latest{look_up(injection, "standstill_ms"), look_up(injection, "allowed_ms")};
    if (machines.empty()) return latest;
    latest = {};
    for (const Value& machine : machines) {
        const Value& one = look_up(machine, "standstill_ms");
        if (number_of(one) && (is_null(latest.at) || *number_of(one) > *number_of(latest.at)))
            latest = {one, look_up(machine, "allowed_ms")};
    }
    return latest;
}

Value row_told(const Value& injection, const RehearsalTelling& telling) {
    const std::string link = look_up_text(injection, "link");
    const Stood machine = stood(injection);
    Value path;
    // of one link faults are numbered as they stand in the file
    if (link.empty() && telling.state == "current" && telling.saved)
        path = "fault[" + std::to_string(count_of(look_up_number(injection, "id"))) + "]";
    return Value::Object{{"n", look_up(injection, "id")},
                         {"at_ms", look_up(injection, "at_ms")},
                         {"what", (link.empty() ? "" : link + ": ") + look_up_text(injection, "words")},
                         {"way", look_up_text(injection, "direction")},
                         {"outcome", outcome_words(look_up_text(injection, "outcome"))},
                         {"caught_by", caught_by(injection, telling.name_of_end)},
                         {"detect_ms", look_up(injection, "detect_ms")},
                         {"still_ms", machine.at},
                         {"allowed_ms", machine.allowed},
                         {"as_expected", look_up(injection, "as_expected")},
                         {"within_limit", look_up(injection, "within_limit")},
                         {"why", look_up(injection, "why")},
                         {"injection", look_up(injection, "at_ms")},
                         {"path", std::move(path)}};
}

/// A reaction that a document names, in the words of the bench.
std::string reaction_words(const std::string& named) {
    for (const sim::StopCategory stop : {sim::StopCategory::category_0, sim::StopCategory::category_1,
                                         sim::StopCategory::category_2, sim::StopCategory::reduced_speed})
        if (sim::name_of(stop) == named) return std::string(words_for(stop));
    return named;
}

Value demand_told(const Value& demand) {
    const Value& met = look_up(demand, "met");
    Value ok;
    const bool shown = met.text().empty();
    if (shown) ok = met.is_true();
    const std::string shown_words = !shown ? "not shown" : met.is_true() ? "met" : "NOT MET";
    return Value::Object{
        {"guard", look_up_text(demand, "safeguard")},
        {"at_ms", is_null(look_up(demand, "contact_ms")) ? look_up(demand, "at_ms") : look_up(demand, "contact_ms")},
        {"must", reaction_words(look_up_text(demand, "must"))},
        {"machine", look_up_text(demand, "machine")},
        {"shown", shown_words},
        {"command_ms", look_up(demand, "command_ms")},
        {"reduced_ms", look_up(demand, "reduced_ms")},
        {"stands_ms", look_up(demand, "standstill_ms")},
        {"allowed_ms", look_up(demand, "allowed_ms")},
        {"ok", std::move(ok)},
        {"why", look_up_text(demand, "why")}};
}

std::string verdict_of(const Value& document) {
    const std::string verdict = look_up_text(document, "verdict");
    if (verdict == "pass") {
        if (!look_up(document, "as_expected").is_true()) return "NOT AS EXPECTED";
        const Value::List& functions = look_up_list(document, "functions");
        const bool stated = std::any_of(functions.begin(), functions.end(),
                                        [](const Value& one) { return look_up(one, "stated").is_true(); });
        return stated ? "PASS" : "PASS, link only";
    }
    if (verdict == "dangerous") return "DANGEROUS";
    if (verdict == "fail") return "FAIL";
    return verdict.empty() ? "" : "NOT JUDGED";
}

std::string sentence_of(const Value& document) {
    const Value::List& injections = look_up_list(document, "injections");
    const Value::List& demands = look_up_list(document, "demands");
    const auto expected = std::count_if(injections.begin(), injections.end(),
                                        [](const Value& one) { return look_up(one, "as_expected").is_true(); });
    const auto met =
        std::count_if(demands.begin(), demands.end(), [](const Value& one) { return look_up(one, "met").is_true(); });
    std::string words = counted(injections.size(), "fault", "faults") + " put in, " + std::to_string(expected) +
                        " as expected; " + counted(demands.size(), "demand", "demands") + ", " + std::to_string(met) +
                        " met.";
    if (!look_up(document, "link_started").is_true()) words += " THE LINK NEVER STARTED.";
    if (verdict_of(document) == "PASS, link only") words += " Nothing states what the guards must do.";
    for (const Value& remark : look_up_list(document, "remarks"))
        words += " " + as_sentence(std::string(remark.text()));
    return words;
}

}  // namespace

const std::vector<std::pair<std::string, std::string>>& evidence_for_people() {
    static const std::vector<std::pair<std::string, std::string>> all{{"report.html", "report"},
                                                                      {"link_sheet.html", "link sheet"},
                                                                      {"acceptance_sheet.html", "acceptance sheet"},
                                                                      {"summary.txt", "summary"},
                                                                      {"demands.csv", "guard table"},
                                                                      {"injections.csv", "faults, as a table"},
                                                                      {"capture.pcapng", "capture of all telegrams"},
                                                                      {"result.json", "result for programs"},
                                                                      {"junit.xml", "result for pipelines"}};
    return all;
}

Value rehearsal_told(const RehearsalTelling& telling) {
    const Value& document = telling.document;
    Value::List rows, demands, files;
    for (const Value& one : look_up_list(document, "injections")) rows.push_back(row_told(one, telling));
    for (const Value& one : look_up_list(document, "demands")) demands.push_back(demand_told(one));
    for (const std::string& name : telling.files) {
        std::string words = name;
        for (const auto& [known, said] : evidence_for_people())
            if (known == name) words = said;
        files.push_back(Value::Object{{"name", name}, {"words", words}});
    }
    return Value::Object{{"state", telling.state},
                         {"verdict", verdict_of(document)},
                         {"sentence", is_null(document) ? telling.line : sentence_of(document)},
                         {"digest", look_up(document, "digest")},
                         {"rows", std::move(rows)},
                         {"demands", std::move(demands)},
                         {"files", std::move(files)},
                         {"folder", telling.folder},
                         {"command", telling.command}};
}

}  // namespace tools
