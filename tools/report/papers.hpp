#pragma once
// What people read and print of a dossier.
#include <vector>

#include "tools/report/dossier.hpp"
#include "tools/report/sheet.hpp"
#include "tools/store/evidence.hpp"

namespace tools {

/// One page: what to type at each end, the bits, the network, the watchdog window, the signature. Of a cell the dossier
/// of one of its links.
Sheet link_sheet_of(const Dossier& dossier);
/// The acts of the acceptance test on the machine with blanks to fill in, a stage to a page.
Sheet acceptance_sheet_of(const Dossier& dossier);

/// report.html and the sheets as HTML and Markdown; of a cell a link sheet for each link: link_sheet_1, ...
std::vector<EvidenceFile> papers_of(const Dossier& dossier);

}  // namespace tools
