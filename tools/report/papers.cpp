#include "tools/report/papers.hpp"

#include "tools/report/html_page.hpp"
#include "tools/report/report_sheet.hpp"

namespace tools {

std::vector<EvidenceFile> papers_of(const Dossier& dossier) {
    std::vector<EvidenceFile> papers;
    const auto add_link_sheet = [&](const Dossier& one, const std::string& name) {
        const Sheet link = link_sheet_of(one);
        papers.push_back({name + ".html", html_page(link, PageLook::portrait)});
        papers.push_back({name + ".md", markdown_of(link)});
    };
    if (dossier.links.empty()) add_link_sheet(dossier, "link_sheet");
    for (std::size_t i = 0; i < dossier.links.size(); ++i)
        add_link_sheet(dossier.links[i], "link_sheet_" + std::to_string(i + 1));
    const Sheet acceptance = acceptance_sheet_of(dossier);
    papers.push_back({"acceptance_sheet.html", html_page(acceptance, PageLook::landscape)});
    papers.push_back({"acceptance_sheet.md", markdown_of(acceptance)});
    papers.push_back({"report.html", html_page(report_of(dossier), PageLook::report, chart_data_of(dossier))});
    return papers;
}

}  // namespace tools
