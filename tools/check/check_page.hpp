#pragma once
// The cross-check of the two ends and of the guards, and a profile, for people and for programs.
#include <optional>
#include <string>

#include "proto/profile.hpp"
#include "sim/studies/cross_check.hpp"
#include "sim/studies/function_check.hpp"
#include "tools/residual/link_residual.hpp"
#include "tools/text/page.hpp"
#include "tools/text/value.hpp"

namespace sim {
struct Scenario;
}

namespace tools {

struct CheckFound {
    sim::CrossCheck ends;
    sim::FunctionCheck functions;
    std::optional<LinkResidual> residual;  ///< where a function states a level
    bool all_settings = false;             ///< list each compared setting
    [[nodiscard]] bool ok() const { return ends.ok() && functions.ok(); }
};

Value describe(const CheckFound& found);
Page page_of(const sim::Scenario& scenario, const CheckFound& found, Columns columns);

/// A profile whose layout fits (see proto::layout_of).
Value describe(const proto::Profile& profile, const proto::Layout& layout);
Page page_of(const proto::Profile& profile, const proto::Layout& layout, Columns columns);

}  // namespace tools
