#include "tools/desk/work_words.hpp"

#include <cctype>
#include <cmath>
#include <utility>
#include <vector>

#include "sim/odds/odds_words.hpp"
#include "tools/text/look_up.hpp"

namespace tools {
namespace {

struct Words {
    std::string sentence;
    Value::List rows;
    void row(std::string what, std::string value) {
        rows.push_back(Value::Object{{"what", std::move(what)}, {"value", std::move(value)}});
    }
    [[nodiscard]] Value told() && {
        return Value::Object{{"sentence", std::move(sentence)}, {"rows", std::move(rows)}};
    }
};

std::string count(const Value& value) { return grouped(count_of(number_of(value))); }

std::string verdict_of(const Value& document) {
    const std::string verdict = look_up_text(document, "verdict");
    if (verdict == "pass") return "PASS";
    if (verdict == "dangerous") return "DANGEROUS";
    if (verdict == "undecided") return "UNDECIDED";
    return verdict == "fail" ? "FAIL" : "NOT JUDGED";
}

Value campaign(const Value& document) {
    Words words;
    const Value& outcomes = look_up(document, "outcomes");
    words.sentence = verdict_of(document) + ": " + count(look_up(document, "trials")) + " trials, " +
                     count(look_up(outcomes, "dangerous")) + " dangerous, " + count(look_up(document, "late")) +
                     " late.";
    for (const auto& [key, name] : {std::pair{"safe-state", "stopped"},
                                    {"tolerated", "tolerated"},
                                    {"no-effect", "no effect"},
                                    {"not-fired", "not fired"},
                                    {"never-ran", "the link never ran"}})
        if (count_of(look_up_number(outcomes, key)) != 0) words.row(name, count(look_up(outcomes, key)));
    if (const auto upper = look_up_number(document, "dangerous_upper_95"); upper && *upper > 0.0)
        words.row("dangerous, at most (95 %)", "1 in " + grouped(static_cast<std::uint64_t>(1.0 / *upper)));
    for (const Value& one : look_up_list(document, "functions"))
        words.row(look_up_text(one, "name"), "met " + count(look_up(one, "met")) + ", not met " +
                                                 count(look_up(one, "not_met")) + ", not shown " +
                                                 count(look_up(one, "not_shown")));
    return std::move(words).told();
}

Value endurance(const Value& document) {
    Words words;
    const Value& trips = look_up(document, "spurious_trips");
    const bool of_ends = trips.object() != nullptr;
    const std::uint64_t stops =
        of_ends ? count_of(look_up_number(trips, "controller")) + count_of(look_up_number(trips, "device"))
                : count_of(number_of(trips));
    words.sentence = verdict_of(document) + ": " + figure(look_up_number(document, "years")) + " simulated years, " +
                     counted(stops, "stop", "stops") + " for nothing.";
    if (const auto high = look_up_number(document, "high"))
        words.row("stops for nothing", figure(look_up_number(document, "per_year")) + " a year, between " +
                                           figure(look_up_number(document, "low")) + " and " + figure(high) +
                                           " (95 %)");
    words.row("dangerous", count(look_up(document, "dangerous")));
    if (of_ends && count_of(look_up_number(document, "windows_simulated")) == 0 && stops == 0)
        words.row("mind", "nothing in this file's channel can stop the link: write what the line really does");
    words.row("cycles", count(look_up(document, "cycles")));
    for (const Value& link : look_up_list(document, "links"))
        words.row("link " + look_up_text(link, "name"), figure(look_up_number(link, "per_year")) + " stops a year");
    return std::move(words).told();
}

std::string method_row(const Value& method) {
    return figure(look_up_number(method, "rate_per_hour")) + " an hour of " +
           figure(look_up_number(method, "share_per_hour")) +
           (look_up(method, "met").is_true() ? ", kept" : ", NOT KEPT");
}

/// Of a cell: each function with its links summed up.
Value residual_of_cell(const Value& document) {
    Words words;
    const Value::List& functions = look_up_list(document, "functions");
    std::size_t met = 0;
    for (const Value& function : functions) {
        bool all = true, any = false;
        for (const Value& method : look_up_list(function, "sum")) {
            any = true;
            all = all && look_up(method, "met").is_true();
            words.row(look_up_text(function, "name") + ", " + look_up_text(function, "level") + ": " +
                          look_up_text(method, "name") + " (" + look_up_text(method, "confidence") + ")",
                      method_row(method));
        }
        if (any && all) ++met;
    }
    words.sentence = (look_up(document, "met").is_true() ? "PASS: " : "FAIL: ") + std::to_string(met) + " of " +
                     counted(functions.size(), "function", "functions") + " kept by every method, links added up.";
    words.row("not in it", look_up_text(document, "left_out"));
    return std::move(words).told();
}

Value residual(const Value& document) {
    if (look_up(document, "functions").list() != nullptr) return residual_of_cell(document);
    Words words;
    if (const Value::List& sum = look_up_list(document, "sum"); !sum.empty()) {
        words.sentence = (look_up(document, "met").is_true() ? "PASS: " : "NOT MET: ") +
                         look_up_text(document, "level") + ", the highest level over this link, asked for by \"" +
                         look_up_text(document, "function") + "\".";
        for (const Value& method : sum)
            words.row(look_up_text(method, "name") + " (" + look_up_text(method, "source") + ", " +
                          look_up_text(method, "confidence") + ")",
                      method_row(method));
        words.row("not in it", look_up_text(document, "left_out"));
    } else {
        words.sentence = "No function states a level: the residual error alone.";
        for (const Value& method : look_up_list(document, "methods"))
            words.row(look_up_text(method, "name"), method_row(method));
    }
    return std::move(words).told();
}

/// The number that ends at that place, with blanks between its groups.
std::optional<double> number_before(const std::string& text, std::size_t end) {
    std::string digits;
    std::size_t at = end;
    while (at > 0) {
        const char c = text[at - 1];
        const bool blank_in_number = c == ' ' && !digits.empty() && at >= 2 && std::isdigit(text[at - 2]) != 0;
        if (std::isdigit(static_cast<unsigned char>(c)) == 0 && c != ' ') break;
        if (c == ' ' && !digits.empty() && !blank_in_number) break;
        if (c != ' ') digits.insert(digits.begin(), c);
        --at;
    }
    if (digits.empty() || digits.size() > 15) return std::nullopt;
    return std::stod(digits);
}

}  // namespace

Value result_in_words(const std::string& what, const Value& document) {
    if (what == "campaign") return campaign(document);
    if (what == "endurance") return endurance(document);
    if (what == "residual") return residual(document);
    return {};
}

std::optional<double> progress_in(const std::string& line) {
    if (const std::size_t percent = line.find('%'); percent != std::string::npos) {
        const auto share = number_before(line, percent);
        if (share && *share <= 100.0) return *share / 100.0;
    }
    const std::size_t of = line.find(" of ");
    if (of == std::string::npos) return std::nullopt;
    const auto done = number_before(line, of);
    std::size_t end = of + 4;
    while (end < line.size() && (std::isdigit(static_cast<unsigned char>(line[end])) != 0 || line[end] == ' ')) ++end;
    const auto all = number_before(line, end);
    if (!done || !all || !(*all > 0.0) || *done > *all) return std::nullopt;
    return *done / *all;
}

}  // namespace tools
