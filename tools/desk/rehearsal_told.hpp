#pragma once
// A rehearsal as the page shows it: what the command `run` found, from its document.
#include <functional>
#include <string>
#include <vector>

#include "tools/text/value.hpp"

namespace tools {

/// The name of an end of a link of that name.
using EndNamed = std::function<std::string(const std::string& link, bool controller)>;

struct RehearsalTelling {
    const Value& document;
    std::string state;  ///< "runs", "current", "old", "failed"
    std::string folder, command, line;
    std::vector<std::string> files;  ///< that lie in the folder
    EndNamed name_of_end;
    bool saved = false;  ///< what was rehearsed is what the file says
};
Value rehearsal_told(const RehearsalTelling& telling);

/// The files of a run's folder that people open, and what each is; in the order in which they are shown.
const std::vector<std::pair<std::string, std::string>>& evidence_for_people();

}  // namespace tools
