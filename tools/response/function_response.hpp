#pragma once
// The response of each safety function: one document and one block of the page for each.
#include <cstddef>
#include <functional>
#include <vector>

#include "sim/scenario/scenario.hpp"
#include "sim/timing/function_time.hpp"
#include "tools/response/response_page.hpp"
#include "tools/text/page.hpp"
#include "tools/text/value.hpp"

namespace tools {

struct FunctionResponse {
    sim::FunctionTime time;
    sim::Scenario seen_by;  ///< with this function's guard and limits in its tables
    ResponseFound found;
    [[nodiscard]] bool good() const { return found.kept.kept && found.seen_within_bound(); }
};

struct FunctionResponses {
    std::vector<FunctionResponse> all;  ///< at least one
    std::size_t decides = 0;            ///< the tightest of them
    sim::Kept tables;                   ///< what [distance] and [required] state besides
    [[nodiscard]] bool good() const;
};

/// `search` finds the worst response seen of a scenario's first demand; asked once for each way.
FunctionResponses respond_for_functions(const sim::Scenario& scenario,
                                        const std::function<sim::WorstSeen(const sim::Scenario&)>& search);

/// The document of the function that decides, with one of each in `functions`.
Value describe(const sim::Scenario& scenario, const FunctionResponses& found);
Page page_of(const sim::Scenario& scenario, const FunctionResponses& found, Columns columns);

}  // namespace tools
