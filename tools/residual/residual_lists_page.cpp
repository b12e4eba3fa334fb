// Many telegrams on one page, a line each.
#include <string>

#include "tools/residual/residual_page.hpp"
#include "tools/residual/residual_words.hpp"
#include "tools/text/text.hpp"

namespace tools {

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
