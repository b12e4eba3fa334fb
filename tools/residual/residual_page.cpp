#include "tools/residual/residual_page.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "sim/scenario/units.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

/// Four digits: "2.3283e-10"; "0" only for 0. Values beyond what a double holds are shown all the same.
std::string scientific(long double value) {
    std::array<char, 48> text{};
    std::snprintf(text.data(), text.size(), "%.4Le", value);
    return value == 0 ? "0" : text.data();
}
std::string rate_text(long double rate) {
    std::array<char, 48> text{};
    std::snprintf(text.data(), text.size(), "%.4Lg", rate);
    return text.data();
}
std::string factor_text(long double factor) {
    std::array<char, 48> text{};
    std::snprintf(text.data(), text.size(), factor < 1e4L ? "%.2Lf" : "%.1Le", factor);
    return text.data();
}
std::string per_hour(const std::optional<double>& rate) { return rate ? scientific(*rate) : "-"; }

Value number_of(const std::optional<long double>& value) {
    return value ? Value(static_cast<double>(*value)) : Value();
}
Value at_rate(const std::optional<sim::AtRate>& value) {
    if (!value) return {};
    return Value::Object{{"p", static_cast<double>(value->rate)}, {"value", static_cast<double>(value->value)}};
}
long double factor_of(const ResidualRow& row) {
    return row.customary > 0 ? row.exact.value_or(row.at_most) / row.customary : 0;
}

std::string polynomial_of(const sim::Generator& generator) {
    return sim::written_hex(generator.polynomial, (generator.width + 3) / 4);
}

std::string hd_text(const ResidualStudy& study) {
    return (study.hd_is_bound ? "at least " : "") + std::to_string(study.hd);
}

std::string level_text(unsigned level) { return level == 0 ? "none" : "SIL " + std::to_string(level); }

/// The highest level that all methods with a rate (or the one named) leave room for; nothing if none has a rate.
std::optional<unsigned> level_carried(const std::vector<sim::MethodResult>& methods, const std::string& method) {
    std::optional<unsigned> level;
    for (const sim::MethodResult& result : methods) {
        if (!result.rate_per_hour || (!method.empty() && result.name != method)) continue;
        level = std::min(level.value_or(4), sim::level_for(*result.rate_per_hour));
    }
    return level;
}

constexpr std::size_t weights_told = 12;  ///< at least

Value weights_of(const ResidualStudy& study) {
    Value::Object weights;
    for (const ResidualStudy::Weight& weight : study.weights)
        weights.push_back({std::to_string(weight.bits), weight.count});
    // not counted: no value
    for (std::size_t k = study.weights.size() + 1; k <= weights_told; ++k)
        weights.push_back({std::to_string(k), Value()});
    return weights;
}

Value row_of(const ResidualRow& row) {
    return Value::Object{{"p", static_cast<double>(row.rate)},
                         {"value", number_of(row.exact)},
                         {"at_least", static_cast<double>(row.at_least)},
                         {"at_most", static_cast<double>(row.at_most)},
                         {"customary", static_cast<double>(row.customary)},
                         {"factor", static_cast<double>(factor_of(row))}};
}

Value methods_of(const ResidualStudy& study) {
    Value::List methods;
    for (const sim::MethodResult& method : study.methods)
        methods.push_back(Value::Object{{"name", method.name},
                                        {"source", method.source},
                                        {"confidence", method.confidence},
                                        {"rate_per_hour", Value::of(method.rate_per_hour)},
                                        {"share_per_hour", Value::of(method.share_per_hour)},
                                        {"met", Value::of(method.met)},
                                        {"why", method.why}});
    return methods;
}

Value met_value(LevelVerdict verdict) {
    return verdict == LevelVerdict::not_asked ? Value() : Value(verdict == LevelVerdict::met);
}

std::string names_where(const std::vector<sim::MethodResult>& methods, bool met) {
    std::string names;
    for (const sim::MethodResult& method : methods)
        if (method.met && *method.met == met) names += (names.empty() ? "" : " and ") + ("the " + method.name);
    return names;
}

std::string sentence_of(const ResidualStudy& study, const ResidualAsked& asked, LevelVerdict verdict) {
    const ResidualSubject& subject = study.subject;
    const std::string telegram = subject.name + ", " + counted(subject.data_bits, "data bit", "data bits");
    if (verdict == LevelVerdict::not_asked)
        return telegram + ": R = " + (study.exact ? "" : "at most ") + scientific(study.at_rate.at_most) +
               " at a bit error rate of " + rate_text(study.at_rate.rate) + "; Hamming distance " + hd_text(study) +
               ".";
    const std::string level = "SIL " + std::to_string(*asked.level);
    const std::string kept = names_where(study.methods, true), lost = names_where(study.methods, false);
    std::string text = telegram + ": " + level;
    if (verdict == LevelVerdict::met)
        text += " is met by " + (asked.method.empty() ? kept : "the " + asked.method) + " method";
    else if (kept.empty() && lost.empty())
        text += " cannot be judged: no method has a rate that decides";
    else
        text += " is not met by " + (asked.method.empty() ? lost : "the " + asked.method) + " method";
    if (verdict == LevelVerdict::not_met && !kept.empty() && asked.method.empty())
        text += "; it is by " + kept + " method (--method decides by one alone)";
    return text + ".";
}

struct VerdictWord {
    const char* word;
    Hue hue;
};
VerdictWord word_for(LevelVerdict verdict) {
    switch (verdict) {
        case LevelVerdict::not_asked: return {"RESIDUAL ERROR", Hue::none};
        case LevelVerdict::met: return {"PASS", Hue::good};
        case LevelVerdict::not_met: return {"FAIL", Hue::danger};
    }
    return {"FAIL", Hue::danger};
}

constexpr std::size_t label_width = 11;

void labelled(Page& page, const std::string& label, const std::string& text) {
    page.paragraph(left_aligned(label, label_width), text);
}

void rows_of(Page& page, const ResidualStudy& study) {
    const bool bounds = !study.exact;
    page.line(right_aligned("bit error rate", 15) + right_aligned(bounds ? "R at least" : "R exact", 16) +
              (bounds ? right_aligned("R at most", 16) : "") + right_aligned("R by 2^-r", 16) +
              right_aligned("factor", 12));
    const auto line = [&](const ResidualRow& row, const char* mark) {
        page.line(mark + right_aligned(rate_text(row.rate), 13) + right_aligned(scientific(row.at_least), 16) +
                  (bounds ? right_aligned(scientific(row.at_most), 16) : "") +
                  right_aligned(scientific(row.customary), 16) + right_aligned(factor_text(factor_of(row)), 12));
    };
    bool shown = false;
    for (const ResidualRow& row : study.rows) {
        const bool asked = row.rate == study.at_rate.rate;
        if (!shown && !asked && row.rate < study.at_rate.rate) {
            line(study.at_rate, " *");
            shown = true;
        }
        line(row, asked ? " *" : "  ");
        shown = shown || asked;
    }
    if (!shown) line(study.at_rate, " *");
    page.line(" * the bit error rate that the rates below are computed with");
}

void weights_on(Page& page, const ResidualStudy& study) {
    std::string text;
    unsigned shown = 0;
    for (const ResidualStudy::Weight& weight : study.weights) {
        if (weight.count == "0" || shown == 6) continue;
        ++shown;
        text += (text.empty() ? "" : ", ") + std::to_string(weight.bits) + " bits: " + weight.count;
    }
    if (text.empty()) text = "none found up to " + counted(study.weights.size(), "wrong bit", "wrong bits");
    labelled(page, "Unseen",
             "patterns of wrong bits that the CRC misses, by their number of bits: " + text +
                 (study.exact ? "" : " (higher weights were not counted)"));
}

void methods_on(Page& page, const ResidualStudy& study) {
    page.line(left_aligned("method", 12) + left_aligned("source", 28) + right_aligned("an hour", 12) +
              right_aligned("share", 12) + "  met?");
    for (const sim::MethodResult& method : study.methods) {
        const std::string met = !method.met ? "-" : *method.met ? "yes" : "NO";
        const std::string head = left_aligned(method.name, 12) + left_aligned(method.source, 28);
        const std::string figures = right_aligned(per_hour(method.rate_per_hour), 12) +
                                    right_aligned(per_hour(method.share_per_hour), 12) + "  " + met;
        if (page.columns().wide()) {
            page.line(head + figures);
        } else {
            page.line(head);
            page.line("    " + figures);
        }
        page.paragraph("    ", method.confidence + "; " + method.why);
    }
}

}  // namespace

LevelVerdict verdict_of(const std::vector<sim::MethodResult>& methods, const std::string& method) {
    bool asked = false, any = false, all = true;
    for (const sim::MethodResult& result : methods) {
        if (result.share_per_hour) asked = true;
        if (!method.empty() && result.name != method) continue;
        if (!result.met) continue;
        any = true;
        all = all && *result.met;
    }
    if (!asked) return LevelVerdict::not_asked;
    return any && all ? LevelVerdict::met : LevelVerdict::not_met;
}

Value describe(const ResidualStudy& study, const ResidualAsked& asked) {
    const ResidualSubject& subject = study.subject;
    Value::List rows;
    for (const ResidualRow& row : study.rows) rows.push_back(row_of(row));
    const LevelVerdict verdict = verdict_of(study.methods, asked.method);
    const std::optional<unsigned> carried = level_carried(study.methods, asked.method);
    return Value::Object{
        {"name", subject.name},
        {"width", subject.generator.width},
        {"polynomial", polynomial_of(subject.generator)},
        {"data_bits", subject.data_bits},
        {"copies", subject.copies},
        {"numbers_tried", subject.tries},
        {"exact", study.exact},
        {"hd", study.hd},
        {"hd_is_bound", study.hd_is_bound},
        {"weights", weights_of(study)},
        {"residual", std::move(rows)},
        {"bit_error_rate", static_cast<double>(study.at_rate.rate)},
        {"at_bit_error_rate", number_of(study.at_rate.exact)},
        {"at_bit_error_rate_bounds", Value::Object{{"at_least", static_cast<double>(study.at_rate.at_least)},
                                                   {"at_most", static_cast<double>(study.at_rate.at_most)}}},
        {"maximum", at_rate(study.maximum)},
        {"maximum_of_the_wrong", at_rate(study.maximum_of_the_wrong)},
        {"proper", Value::of(study.proper)},
        {"customary_too_low", at_rate(study.worst_of_customary)},
        {"sil", Value::of(asked.level)},
        {"telegrams_per_hour", Value::of(asked.telegrams_per_hour)},
        {"receivers", asked.receivers},
        {"methods", methods_of(study)},
        {"met", met_value(verdict)},
        {"level_carried", Value::of(carried)},
        {"notes", Value::list_of(subject.notes)},
    };
}

Page page_of(const ResidualStudy& study, const ResidualAsked& asked, Columns columns) {
    Page page(columns);
    const ResidualSubject& subject = study.subject;
    const LevelVerdict verdict = verdict_of(study.methods, asked.method);
    const VerdictWord word = word_for(verdict);
    page.headline(word.word, word.hue, sentence_of(study, asked, verdict));
    page.blank();
    labelled(page, "Telegram",
             std::to_string(subject.generator.width) + "-bit CRC, polynomial " + polynomial_of(subject.generator) +
                 "; " + std::to_string(subject.data_bits) + " + " + std::to_string(subject.generator.width) + " = " +
                 std::to_string(subject.data_bits + subject.generator.width) + " bits" +
                 (subject.copies == 2 ? ", sent twice, the second time inverted, and compared" : "") + ".");
    labelled(page, "Distance",
             "every pattern of up to " + counted(study.hd - 1, "wrong bit", "wrong bits") +
                 (subject.copies == 2 ? " in a copy" : "") + " is seen (Hamming distance " + hd_text(study) + ").");
    weights_on(page, study);
    page.blank();
    rows_of(page, study);
    page.blank();
    if (study.maximum) {
        labelled(page, "Worst",
                 "R = " + scientific(study.maximum->value) + " at a bit error rate of " +
                     rate_text(study.maximum->rate) +
                     (*study.proper ? "; the code is proper: R only rises up to 0.5."
                                    : "; the code is not proper: R does not rise all the way to 0.5."));
        labelled(page, "2^-r",
                 study.worst_of_customary->value > 1.005L
                     ? "the customary approximation is too low by a factor of up to " +
                           factor_text(study.worst_of_customary->value) + " (at " +
                           rate_text(study.worst_of_customary->rate) + "): no upper bound here."
                     : "the customary approximation is nowhere too low by more than half a percent.");
    } else {
        labelled(page, "Bounds",
                 "the dual code of a CRC of over 32 bits is too large to list: what stands here are bounds, from the "
                 "patterns found by search and from how many can lie that far apart. No maximum, no judgement whether "
                 "the code is proper.");
    }
    for (const std::string& note : subject.notes) labelled(page, "Note", note + ".");
    page.blank();
    methods_on(page, study);
    const auto carried = level_carried(study.methods, asked.method);
    if (carried && study.exact)
        labelled(page, "Level",
                 "these rates leave room for " + (*carried == 0 ? "no level." : level_text(*carried) + " at most."));
    return page;
}

Value describe_comparison(const std::vector<ResidualStudy>& studies, const ResidualAsked& asked) {
    Value::List all;
    bool met = true;
    for (const ResidualStudy& study : studies) {
        all.push_back(describe(study, asked));
        met = met && verdict_of(study.methods, asked.method) == LevelVerdict::met;
    }
    return Value::Object{{"met", asked.level ? Value(met) : Value()}, {"crcs", std::move(all)}};
}

Page page_of_comparison(const std::vector<ResidualStudy>& studies, const ResidualAsked& asked, Columns columns) {
    Page page(columns);
    const ResidualStudy& first = studies.front();
    if (asked.level) {
        std::string kept, lost;
        for (const ResidualStudy& study : studies) {
            std::string& list = verdict_of(study.methods, asked.method) == LevelVerdict::met ? kept : lost;
            list += (list.empty() ? "" : ", ") + study.subject.name;
        }
        const std::string level = "SIL " + std::to_string(*asked.level);
        page.headline(lost.empty() ? "PASS" : "FAIL", lost.empty() ? Hue::good : Hue::danger,
                      lost.empty()
                          ? level + " is met by all of them."
                          : level + " is not met by " + lost + (kept.empty() ? "." : "; it is by " + kept + "."));
    } else {
        page.headline("COMPARED", Hue::none,
                      counted(studies.size(), "CRC", "CRCs") + " over " +
                          counted(first.subject.data_bits, "data bit", "data bits") + ".");
    }
    page.blank();
    const bool wide = columns.wide();
    page.line(left_aligned("CRC", 24) + right_aligned("HD", 9) +
              right_aligned("R(" + rate_text(first.at_rate.rate) + ")", 13) + right_aligned("R worst", 13) +
              (wide ? right_aligned("at", 10) + right_aligned("proper", 8) + right_aligned("2^-r low by", 13) : "") +
              "  level");
    for (const ResidualStudy& study : studies) {
        const auto carried = level_carried(study.methods, asked.method);
        page.line(
            left_aligned(study.subject.name, 24) +
            right_aligned((study.hd_is_bound ? ">=" : "") + std::to_string(study.hd), 9) +
            right_aligned((study.exact ? "" : "<") + scientific(study.at_rate.at_most), 13) +
            right_aligned(study.maximum ? scientific(study.maximum->value) : "-", 13) +
            (wide ? right_aligned(study.maximum ? rate_text(study.maximum->rate) : "-", 10) +
                        right_aligned(!study.proper   ? "-"
                                      : *study.proper ? "yes"
                                                      : "no",
                                      8) +
                        right_aligned(study.worst_of_customary ? factor_text(study.worst_of_customary->value) : "-", 13)
                  : "") +
            "  " + (carried ? level_text(*carried) : "-"));
    }
    page.paragraph("    ",
                   "level: what the rates of all methods that have one leave room for; each method by name "
                   "with one CRC alone");
    return page;
}

unsigned first_lost(const std::vector<ScannedLength>& lengths, const std::string& method) {
    for (const ScannedLength& length : lengths)
        if (verdict_of(length.study.methods, method) != LevelVerdict::met) return length.payload_bytes;
    return 0;
}

Value describe_scan(const std::vector<ScannedLength>& lengths, const ResidualAsked& asked) {
    Value::List all;
    for (const ScannedLength& length : lengths) {
        const ResidualStudy& study = length.study;
        all.push_back(Value::Object{{"payload_bytes", length.payload_bytes},
                                    {"data_bits", study.subject.data_bits},
                                    {"hd", study.hd},
                                    {"at_bit_error_rate", number_of(study.at_rate.exact)},
                                    {"maximum", at_rate(study.maximum)},
                                    {"proper", Value::of(study.proper)},
                                    {"methods", methods_of(study)},
                                    {"met", met_value(verdict_of(study.methods, asked.method))}});
    }
    const unsigned lost = asked.level ? first_lost(lengths, asked.method) : 0;
    const ResidualStudy& first = lengths.front().study;
    return Value::Object{{"name", first.subject.name},
                         {"width", first.subject.generator.width},
                         {"polynomial", polynomial_of(first.subject.generator)},
                         {"bit_error_rate", static_cast<double>(first.at_rate.rate)},
                         {"sil", Value::of(asked.level)},
                         {"met", asked.level ? Value(lost == 0) : Value()},
                         {"first_lost_payload_bytes", lost != 0 ? Value(lost) : Value()},
                         {"lengths", std::move(all)}};
}

Page page_of_scan(const std::vector<ScannedLength>& lengths, const ResidualAsked& asked, Columns columns) {
    Page page(columns);
    const ResidualStudy& first = lengths.front().study;
    const unsigned last = lengths.back().payload_bytes;
    const std::string range = first.subject.name + ", payloads of " + std::to_string(lengths.front().payload_bytes) +
                              " to " + counted(last, "byte", "bytes");
    if (asked.level) {
        const unsigned lost = first_lost(lengths, asked.method);
        const std::string level = "SIL " + std::to_string(*asked.level);
        page.headline(lost == 0 ? "PASS" : "FAIL", lost == 0 ? Hue::good : Hue::danger,
                      range + ": " +
                          (lost == 0 ? level + " is met at every length."
                                     : level + " is lost from " + counted(lost, "byte", "bytes") + " of payload on."));
        // a longer telegram need not be a weaker one
        std::string again;
        for (const ScannedLength& length : lengths)
            if (lost != 0 && length.payload_bytes > lost &&
                verdict_of(length.study.methods, asked.method) == LevelVerdict::met)
                again += (again.empty() ? "" : ", ") + std::to_string(length.payload_bytes);
        if (!again.empty()) page.paragraph("    ", "but met again at " + again + " bytes");
    } else {
        page.headline("SCANNED", Hue::none, range + ".");
    }
    page.blank();
    page.line(right_aligned("payload", 8) + right_aligned("data bits", 11) + right_aligned("HD", 5) +
              right_aligned("R(" + rate_text(first.at_rate.rate) + ")", 13) + right_aligned("R worst", 13) +
              right_aligned("at", 10) + "  proper  level");
    for (const ScannedLength& length : lengths) {
        const ResidualStudy& study = length.study;
        const auto carried = level_carried(study.methods, asked.method);
        page.line(right_aligned(std::to_string(length.payload_bytes), 8) +
                  right_aligned(std::to_string(study.subject.data_bits), 11) +
                  right_aligned(std::to_string(study.hd), 5) + right_aligned(scientific(study.at_rate.at_most), 13) +
                  right_aligned(study.maximum ? scientific(study.maximum->value) : "-", 13) +
                  right_aligned(study.maximum ? rate_text(study.maximum->rate) : "-", 10) + "  " +
                  left_aligned(!study.proper   ? "-"
                               : *study.proper ? "yes"
                                               : "no",
                               8) +
                  (carried ? level_text(*carried) : "-"));
    }
    return page;
}

}  // namespace tools
