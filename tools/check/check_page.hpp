#pragma once
// The cross-check of the two ends and of the guards, and a profile, for people and for programs.
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "proto/profile.hpp"
#include "sim/reading/listed_scenario.hpp"
#include "sim/studies/cross_check.hpp"
#include "sim/studies/function_check.hpp"
#include "tools/residual/link_residual.hpp"
#include "tools/text/page.hpp"
#include "tools/text/value.hpp"
#include "tools/text/words.hpp"

namespace sim {
struct Scenario;
}

namespace tools {

struct CheckFound {
    sim::CrossCheck ends;
    sim::FunctionCheck functions;
    std::optional<LinkResidual> residual;  ///< where a function states a level
    bool all_settings = false;             ///< list each compared setting
    /// What keeps two lists of settings from showing that the ends agree; nothing: there were no lists.
    std::optional<std::vector<sim::ListFinding>> lists = {};
    [[nodiscard]] bool all_compared() const { return !lists || lists->empty(); }
    [[nodiscard]] bool ok() const { return ends.ok() && functions.ok() && all_compared(); }
};

// Parts of it, for a cell too.
void sentences_on(Page& page, std::string_view title, const std::vector<std::string>& texts);
void differences_on(Page& page, const sim::CrossCheck& check, const EndNames& names);
/// What keeps the ends apart, and what of network and module is not compared; nothing where there is none of it.
void add_network(Value::Object& document, const sim::CrossCheck& check);
/// A sentence for a headline, behind a blank; empty where all that is typed of network and module is compared.
std::string not_all(const sim::CrossCheck& check);
/// `link`: of a cell, which of its links; else empty.
Value::List describe_differences(const sim::CrossCheck& check, const std::string& link);

Value describe(const CheckFound& found);
Page page_of(const sim::Scenario& scenario, const CheckFound& found, Columns columns);

/// A profile whose layout fits (see proto::layout_of).
Value describe(const proto::Profile& profile, const proto::Layout& layout);
Page page_of(const proto::Profile& profile, const proto::Layout& layout, Columns columns);

}  // namespace tools
