#pragma once
// The folder with the evidence of a command. A file in it is either whole or not there.
#include <optional>
#include <string>
#include <vector>

#include "proto/result.hpp"
#include "tools/failure.hpp"
#include "tools/page.hpp"
#include "tools/value.hpp"

namespace tools {

struct EvidenceFile {
    std::string name;
    std::string content;
};

/// "linkdrill-out/NAME" for a scenario file ".../NAME.toml".
std::string default_folder_of(const std::string& scenario_file);

/// Puts the files into `folder`, which is made if it is not there. A folder that holds anything must hold linkdrill's
/// mark, else it is somebody else's and left alone. Everything is first written under other names and synced; then the
/// old files of these names go, and the new ones take their places, the last of the list at the very end: where it is,
/// the rest is there and of the same run. Two programs at once take turns.
std::optional<Failure> put_evidence(const std::string& folder, const std::vector<EvidenceFile>& files);

/// NAME.json of a command's result, and NAME.txt with its page, if a folder was asked for: several commands may share
/// one, which linkdrill report then gathers.
std::optional<Failure> keep_if_asked(const std::optional<std::string>& folder, const std::string& name,
                                     const Value& document, const std::optional<Page>& page);

/// The file that marks a folder as linkdrill's.
inline constexpr const char* evidence_mark = ".linkdrill";

}  // namespace tools
