#include "tools/residual/residual_page.hpp"

#include <optional>
#include <string>

#include "tools/residual/residual_words.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

std::string per_hour(const std::optional<double>& rate) { return rate ? scientific(*rate) : "-"; }

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
                 study.worst_of_customary->value.to_double() > 1.005
                     ? "the customary approximation is too low by a factor of up to " +
                           factor_text(study.worst_of_customary->value.to_double()) + " (at " +
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

}  // namespace tools
