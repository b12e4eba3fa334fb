// What was added up over the links of a cell, for people and for programs.
#include <string>
#include <utility>

#include "tools/residual/cell_residual.hpp"
#include "tools/residual/residual_document.hpp"
#include "tools/residual/residual_words.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

constexpr const char* both_receivers =
    "Of each link both receivers count, as for one link alone: each of them takes part in every exchange that the "
    "function rests on.";

const sim::SafetyFunction& function_of(const CellResidual& found, const FunctionResidual& one) {
    return found.cell.functions[one.function];
}

std::string word_for(const std::optional<bool>& met) { return !met ? "not judged" : *met ? "kept" : "NOT KEPT"; }

std::string sentence_of(const CellResidual& found) {
    std::size_t lost = 0;
    for (const FunctionResidual& one : found.functions) lost += one.verdict != LevelVerdict::met ? 1 : 0;
    const std::string functions = counted(found.functions.size(), "function", "functions");
    if (lost > 0)
        return "the share of the level is not kept, or not shown to be, by the links together that " +
               std::to_string(lost) + " of " + functions + (lost == 1 ? " crosses." : " cross.");
    return functions + ": the links that each crosses together keep the share of its level.";
}

void function_on(Page& page, const CellResidual& found, const FunctionResidual& one) {
    const sim::SafetyFunction& function = function_of(found, one);
    const char* word = one.verdict == LevelVerdict::met ? "met        " : "NOT MET    ";
    std::string level = one.level;
    if (one.by_claim)
        level += (level.empty() ? "" : ", which has no SIL: ") + ("SIL " + std::to_string(one.sil)) +
                 ", the lowest that its links claim";
    const std::string text = plain(function.name) + (level.empty() ? "" : " (" + level + ")");
    if (one.links.empty()) return page.paragraph(word, text + ": " + one.why + ".");
    std::string names;
    for (const CrossedLink& link : one.links)
        names += (names.empty() ? "" : ", ") + plain(found.cell.links[link.link].name);
    page.paragraph(word, text + ": over " + names + ", share " + scientific(sim::share_of_level(one.sil)) +
                             " an hour for them together.");
    if (!one.why.empty()) page.paragraph("           ", plain(one.why) + ".");
    constexpr std::size_t name_width = 12;
    for (const sim::MethodResult& method : one.methods) {
        const std::string rate = method.rate_per_hour ? scientific(*method.rate_per_hour) + " an hour, " : "";
        page.paragraph("           " + left_aligned(method.name, name_width),
                       rate + word_for(method.met) + ": " + plain(method.why) + ".");
    }
}

Value why_of(const FunctionResidual& one) {
    if (!one.why.empty() || !one.by_claim) return Value::text_or_null(one.why);
    return std::string(one.level.empty() ? "no level is stated" : "no SIL goes with its level") +
           ": held against the lowest SIL that its links claim";
}

/// The rate of one link by the method of that name; null without one.
Value rate_of(const LinkResidual& link, const std::string& method) {
    for (const sim::MethodResult& one : link.methods)
        if (one.name == method) return Value::of(one.rate_per_hour);
    return {};
}

Value describe(const CellResidual& found, const FunctionResidual& one) {
    const sim::MethodResult* const highest = one.highest(found.method);
    Value::List links;
    for (const CrossedLink& link : one.links)
        links.push_back(
            Value::Object{{"name", found.cell.links[link.link].name},
                          {"rate_per_hour", highest != nullptr ? rate_of(link.found, highest->name) : Value()},
                          {"methods", methods_of(link.found.methods)}});
    return Value::Object{{"name", function_of(found, one).name},
                         {"level", Value::text_or_null(one.level)},
                         {"sil", one.sil != 0 ? Value(one.sil) : Value()},
                         {"links", std::move(links)},
                         {"method", highest != nullptr ? Value(highest->name) : Value()},
                         {"rate_per_hour", highest != nullptr ? Value::of(highest->rate_per_hour) : Value()},
                         {"share_per_hour", one.sil != 0 ? Value(sim::share_of_level(one.sil)) : Value()},
                         {"met", one.verdict == LevelVerdict::met},
                         {"methods", methods_of(one.methods)},
                         {"why", why_of(one)}};
}

}  // namespace

Value describe(const CellResidual& found) {
    Value::List functions;
    for (const FunctionResidual& one : found.functions) functions.push_back(describe(found, one));
    return Value::Object{{"scenario", found.cell.file},  {"bit_error_rate", found.bit_error_rate},
                         {"met", found.met()},           {"functions", std::move(functions)},
                         {"share_source", share_source}, {"left_out", left_out_of_residual}};
}

Page page_of(const CellResidual& found, Columns columns) {
    Page page(columns);
    const bool met = found.met();
    page.headline(met ? "PASS" : "FAIL", met ? Hue::good : Hue::danger,
                  plain(found.cell.title) + ": " + sentence_of(found));
    page.blank();
    for (const FunctionResidual& one : found.functions) function_on(page, found, one);
    page.blank();
    page.paragraph("    ", std::string("Share: ") + share_source + ". " + both_receivers + " At a bit error rate of " +
                               rate_text(found.bit_error_rate) + "; these are " + left_out_of_residual + ".");
    page.paragraph("One link   ", "linkdrill residual " + shell_word(found.cell.file) + " --link NAME");
    return page;
}

}  // namespace tools
