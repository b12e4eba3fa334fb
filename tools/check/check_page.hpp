#pragma once
// The cross-check of the two ends, and a profile, for people and for programs.
#include <string>

#include "proto/profile.hpp"
#include "sim/studies/cross_check.hpp"
#include "tools/text/page.hpp"
#include "tools/text/value.hpp"

namespace sim {
struct Scenario;
}

namespace tools {

Value describe(const sim::CrossCheck& check);
Page page_of(const sim::Scenario& scenario, const sim::CrossCheck& check, Columns columns);

/// A profile whose layout fits (see proto::layout_of).
Value describe(const proto::Profile& profile, const proto::Layout& layout);
Page page_of(const proto::Profile& profile, const proto::Layout& layout, Columns columns);

}  // namespace tools
