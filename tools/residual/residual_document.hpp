#pragma once
// What `residual` found, for programs: one telegram, several CRCs side by side, or one profile over all lengths.
#include <vector>

#include "tools/residual/residual_verdict.hpp"
#include "tools/text/value.hpp"

namespace tools {

/// Each method with its rate, share and what comes of them.
Value methods_of(const std::vector<sim::MethodResult>& all);
Value describe(const ResidualStudy& study, const ResidualAsked& asked);
Value describe_comparison(const std::vector<ResidualStudy>& studies, const ResidualAsked& asked);
/// Requires at least one length.
Value describe_scan(const std::vector<ScannedLength>& lengths, const ResidualAsked& asked);

}  // namespace tools
