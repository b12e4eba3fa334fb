#pragma once
// Parts of a rehearsal's page, see run_page.hpp.
#include <string>
#include <string_view>

#include "sim/judge/result.hpp"
#include "sim/scenario/scenario.hpp"
#include "tools/text/page.hpp"

namespace tools {

/// A name without what a terminal would obey; `otherwise` if it is empty.
std::string safe_name(const std::string& name, std::string_view otherwise);

bool is_dangerous(const sim::InjectionResult& injection);
/// It found something to act on; else there is no moment at which it did.
bool struck(const sim::InjectionResult& injection);

struct VerdictShown {
    std::string_view word;
    Hue hue;
};
VerdictShown shown(sim::RunVerdict verdict);

/// "press controller <-> press I/O, polled, cycle 10 ms, ...".
std::string link_in_words(const sim::Scenario& scenario);
/// What the ends of a link that never started show, and what to do.
void not_started(Page& page, const sim::Scenario& scenario, const sim::RunResult& result);

/// One row an injection, dangerous ones first, as wide as the page or in two lines each; nothing without any.
void rows_on(Page& page, const sim::Scenario& scenario, const sim::RunResult& result);

/// It came down to the machine's reduced speed and went on there.
bool only_slowed(const sim::Scenario& scenario, const sim::InjectionResult& injection);

/// One row a demand and a line a hop, what is not met first; then a line a function; nothing without demands and
/// functions.
void guards_on(Page& page, const sim::Scenario& scenario, const sim::RunResult& result);

/// Response, stopping, distance, lateness, the fault-free twin and the recovery, of a link that started.
void figures_on(Page& page, const sim::Scenario& scenario, const sim::RunResult& result);

}  // namespace tools
