#pragma once
#include <string>
#include <vector>

#include "sim/judge/result.hpp"
#include "tools/text/page.hpp"

namespace sim {
struct Scenario;
}

namespace tools {

/// What a rehearsal's page says beyond its result.
struct RunPageNotes {
    std::string folder;              ///< of the evidence
    std::vector<std::string> files;  ///< in it
    std::string remark = {};         ///< what is to be said about them
};

/// A rehearsal for people: verdict, sentences, link, rows (dangerous ones first), figures, evidence, repeat.
Page page_of(const sim::Scenario& scenario, const sim::RunResult& result, const RunPageNotes& notes, Columns columns);

}  // namespace tools
