// Many telegrams on one page, a line each.
#include <string>

#include "tools/residual/residual_page.hpp"
#include "tools/residual/residual_words.hpp"
#include "tools/text/text.hpp"

namespace tools {

namespace {

std::string worst_text(const ResidualStudy& study) { return study.maximum ? scientific(study.maximum->value) : "-"; }

std::string worst_at_text(const ResidualStudy& study) { return study.maximum ? rate_text(study.maximum->rate) : "-"; }

std::string proper_text(const ResidualStudy& study) {
    if (!study.proper) return "-";
    return *study.proper ? "yes" : "no";
}

std::string level_column(const ResidualStudy& study, const ResidualAsked& asked) {
    const auto carried = level_carried(study.methods, asked.method);
    return carried ? level_text(*carried) : "-";
}

bool met(const ResidualStudy& study, const ResidualAsked& asked) {
    return verdict_of(study.methods, asked.method) == LevelVerdict::met;
}

void headline_of_comparison(Page& page, const std::vector<ResidualStudy>& studies, const ResidualAsked& asked) {
    if (!asked.level) {
        page.headline("COMPARED", Hue::none,
                      counted(studies.size(), "CRC", "CRCs") + " over " +
                          counted(studies.front().subject.data_bits, "data bit", "data bits") + ".");
        return;
    }
    std::string kept, lost;
    for (const ResidualStudy& study : studies) {
        std::string& list = met(study, asked) ? kept : lost;
        list += (list.empty() ? "" : ", ") + study.subject.name;
    }
    const std::string level = "SIL " + std::to_string(*asked.level);
    page.headline(lost.empty() ? "PASS" : "FAIL", lost.empty() ? Hue::good : Hue::danger,
                  lost.empty() ? level + " is met by all of them."
                               : level + " is not met by " + lost + (kept.empty() ? "." : "; it is by " + kept + "."));
}

/// The columns that only a wide page has.
std::string wide_columns(const ResidualStudy& study) {
    return right_aligned(worst_at_text(study), 10) + right_aligned(proper_text(study), 8) +
           right_aligned(study.worst_of_customary ? factor_text(study.worst_of_customary->value.to_double()) : "-", 13);
}

void headline_of_scan(Page& page, const std::vector<ScannedLength>& lengths, const ResidualAsked& asked) {
    const std::string range = lengths.front().study.subject.name + ", payloads of " +
                              std::to_string(lengths.front().payload_bytes) + " to " +
                              counted(lengths.back().payload_bytes, "byte", "bytes");
    if (!asked.level) {
        page.headline("SCANNED", Hue::none, range + ".");
        return;
    }
    const unsigned lost = first_lost(lengths, asked.method);
    const std::string level = "SIL " + std::to_string(*asked.level);
    page.headline(lost == 0 ? "PASS" : "FAIL", lost == 0 ? Hue::good : Hue::danger,
                  range + ": " +
                      (lost == 0 ? level + " is met at every length."
                                 : level + " is lost from " + counted(lost, "byte", "bytes") + " of payload on."));
    // a longer telegram need not be a weaker one
    std::string again;
    for (const ScannedLength& length : lengths)
        if (lost != 0 && length.payload_bytes > lost && met(length.study, asked))
            again += (again.empty() ? "" : ", ") + std::to_string(length.payload_bytes);
    if (!again.empty()) page.paragraph("    ", "but met again at " + again + " bytes");
}

}  // namespace

Page page_of_comparison(const std::vector<ResidualStudy>& studies, const ResidualAsked& asked, Columns columns) {
    Page page(columns);
    headline_of_comparison(page, studies, asked);
    page.blank();
    const bool wide = columns.wide();
    page.line(left_aligned("CRC", 24) + right_aligned("HD", 9) +
              right_aligned("R(" + rate_text(studies.front().at_rate.rate) + ")", 13) + right_aligned("R worst", 13) +
              (wide ? right_aligned("at", 10) + right_aligned("proper", 8) + right_aligned("2^-r low by", 13) : "") +
              "  level");
    for (const ResidualStudy& study : studies)
        page.line(left_aligned(study.subject.name, 24) +
                  right_aligned((study.hd_is_bound ? ">=" : "") + std::to_string(study.hd), 9) +
                  right_aligned((study.exact ? "" : "<") + scientific(study.at_rate.at_most), 13) +
                  right_aligned(worst_text(study), 13) + (wide ? wide_columns(study) : "") + "  " +
                  level_column(study, asked));
    page.paragraph("    ",
                   "level: what the rates of all methods that have one leave room for; each method by name "
                   "with one CRC alone");
    return page;
}

Page page_of_scan(const std::vector<ScannedLength>& lengths, const ResidualAsked& asked, Columns columns) {
    Page page(columns);
    headline_of_scan(page, lengths, asked);
    page.blank();
    page.line(right_aligned("payload", 8) + right_aligned("data bits", 11) + right_aligned("HD", 5) +
              right_aligned("R(" + rate_text(lengths.front().study.at_rate.rate) + ")", 13) +
              right_aligned("R worst", 13) + right_aligned("at", 10) + "  proper  level");
    for (const ScannedLength& length : lengths) {
        const ResidualStudy& study = length.study;
        page.line(right_aligned(std::to_string(length.payload_bytes), 8) +
                  right_aligned(std::to_string(study.subject.data_bits), 11) +
                  right_aligned(std::to_string(study.hd), 5) + right_aligned(scientific(study.at_rate.at_most), 13) +
                  right_aligned(worst_text(study), 13) + right_aligned(worst_at_text(study), 10) + "  " +
                  left_aligned(proper_text(study), 8) + level_column(study, asked));
    }
    return page;
}

}  // namespace tools
