#pragma once
// What `response` found, as a document and as a page.
#include <optional>
#include <string>
#include <vector>

#include "sim/studies/worst_seen.hpp"
#include "sim/timing/response.hpp"
#include "tools/text/page.hpp"
#include "tools/text/value.hpp"

namespace sim {
struct Scenario;
}

namespace tools {

struct ResponseFound {
    sim::ResponseTime response;
    std::optional<sim::Distance> distance;
    sim::Kept kept;
    bool anything_stated = false;  ///< a distance at hand or a required time
    sim::LongestWatchdog longest;
    sim::WorstSeen seen;
    /// Of a demand that crosses several links of a cell, in place of `seen`.
    struct OverLinks {
        std::optional<proto::Duration> response;  ///< from the contact to the output
        std::uint64_t tried = 0;
        bool never = false;
        std::string words;  ///< of the placing
    };
    std::optional<OverLinks> over_links = {};

    /// From the demand to the output command, everything outside the link as without a fault; nothing if the link did
    /// not start.
    [[nodiscard]] std::optional<proto::Duration> worst_seen() const;
    [[nodiscard]] bool seen_within_bound() const;
};

Value describe(const sim::Scenario& scenario, const ResponseFound& found);
Page page_of(const sim::Scenario& scenario, const ResponseFound& found, Columns columns);

/// Parts of that page, for others made of them.
void response_parts(Page& page, const ResponseFound& found);
void response_figures(Page& page, const sim::Scenario& scenario, const ResponseFound& found);
std::vector<std::string> response_cautions(const ResponseFound& found);
void caution_lines(Page& page, const std::vector<std::string>& cautions);

/// Millimetres, exact: a whole number where it is one.
Value mm_value(sim::Length length);

}  // namespace tools
