#pragma once
// The forms around the rows of the acceptance sheet: who, what was found, what went wrong, who signs.
#include "tools/report/dossier.hpp"
#include "tools/report/sheet.hpp"

namespace tools {

/// Title, document, safety functions, who is present, what is seen to, parts, signatures and network as found.
void add_acceptance_head(Sheet& sheet, const Dossier& dossier);
/// What was not as it should be, each with its re-test.
void add_deviations(Sheet& sheet);
/// One line for each distance that is stated.
void add_distances(Sheet& sheet, const Dossier& dossier);
/// What must be so before the machine is handed over, and who signs for it. Half a page, kept whole: so neither it nor
/// what stands before it leaves a page more than half empty.
void add_closing(Sheet& sheet, const Dossier& dossier);

}  // namespace tools
