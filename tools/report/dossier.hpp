#pragma once
// The documents that commands left in one folder, brought together if they are of one scenario.
#include <string>
#include <vector>

#include "proto/result.hpp"
#include "tools/program/failure.hpp"
#include "tools/store/evidence.hpp"
#include "tools/text/value.hpp"

namespace tools {

struct Dossier {
    // each null where its command has not left one
    Value result, plant, acceptance, time_line, response, watchdog, residual, link_residual, measures, campaign,
        endurance;
    std::vector<std::string> files;     ///< of the documents that are there
    std::vector<std::string> cautions;  ///< what a reader must know about how they fit
    /// Of a cell: one for each link, its `result` what the run says of that link, and the documents that are about it
    /// alone; the rest is about all of them. Empty: one link.
    std::vector<Dossier> links;
};

/// Out of files that are about to be written or were read. Fails where a document cannot be read, where there is none
/// of a run, or where two are of different scenarios, seeds or versions: such are not mixed.
proto::Result<Dossier, Failure> dossier_of(const std::string& folder, const std::vector<EvidenceFile>& files);

/// The same of what lies in the folder, where each document must fit its schema: whoever reads a dossier may rely on
/// its values.
proto::Result<Dossier, Failure> read_dossier(const std::string& folder);

}  // namespace tools
