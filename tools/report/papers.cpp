#include "tools/report/papers.hpp"

#include "tools/report/html_page.hpp"
#include "tools/report/report_sheet.hpp"

namespace tools {

std::vector<EvidenceFile> papers_of(const Dossier& dossier) {
    const Sheet link = link_sheet_of(dossier), acceptance = acceptance_sheet_of(dossier);
    return {
        {"link_sheet.html", html_page(link, PageLook::portrait)},
        {"link_sheet.md", markdown_of(link)},
        {"acceptance_sheet.html", html_page(acceptance, PageLook::landscape)},
        {"acceptance_sheet.md", markdown_of(acceptance)},
        {"report.html", html_page(report_of(dossier), PageLook::report, chart_data_of(dossier))},
    };
}

}  // namespace tools
