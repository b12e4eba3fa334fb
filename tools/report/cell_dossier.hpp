#pragma once
// The documents of a cell's folder, each with the link that it is of.
#include <optional>
#include <string>
#include <vector>

#include "tools/report/dossier.hpp"

namespace tools {

/// The folder holds the rehearsal of several links.
bool is_of_cell(const std::vector<EvidenceFile>& files);
/// "watchdog.json", "watchdog_infeed.json", "plant_1.json": may be a document of a cell's folder.
bool may_be_of_cell(const std::string& file);

/// As dossier_of() and read_dossier() for one link. `looked_at`: each document must fit its schema.
enum class Looked : unsigned char { trusted, by_schema };
proto::Result<Dossier, Failure> cell_dossier_of(const std::string& folder, const std::vector<EvidenceFile>& files,
                                                Looked looked);

}  // namespace tools
