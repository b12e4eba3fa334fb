#pragma once
// What a rehearsal found at which part of the plant: for the marks in the drawing and the list beside it.
#include <cstdint>
#include <string>
#include <vector>

#include "tools/report/dossier.hpp"
#include "tools/report/sheet.hpp"

namespace tools {

/// `count`: how many there are of it; 0 where there is nothing to count.
struct Found : SheetPicture::Finding {
    std::uint64_t count = 0;
};
using AllFound = std::vector<Found>;

/// In the order of the lists in the member `drawing` of plant.json. What tells nothing bad has no mark; of what nothing
/// was shown the mark says so. What was reckoned (distance, watchdogs, residual error) is not among it.
struct FoundAtParts {
    AllFound controller;
    std::vector<AllFound> links, stations, safeguards, machines;
};
FoundAtParts found_at_parts(const Dossier& dossier);

/// The one that is most in need of a reader; null where none has a mark.
const Found* worst_of(const AllFound& all);
/// Dangerous, or not as it should be.
bool any_bad(const FoundAtParts& found);

// ---- its kinds, for a dossier of one link, or of one of a cell with what its anchors end in ("-2") ----
AllFound found_at_link(const Dossier& link, const Value& drawn, const std::string& behind);
AllFound found_at_guard(const Dossier& dossier, const Value& drawn);
AllFound found_at_machine(const Dossier& dossier, const std::string& machine);
/// "#settings-2", as many as differ there; nothing where none does.
AllFound found_typed(const Value& differs, const std::string& behind);

}  // namespace tools
