#pragma once
// What `residual` found, for people: one telegram, several CRCs side by side, or one profile over all lengths.
#include <vector>

#include "tools/residual/residual_verdict.hpp"
#include "tools/text/page.hpp"

namespace tools {

Page page_of(const ResidualStudy& study, const ResidualAsked& asked, Columns columns);

/// Requires at least one study.
Page page_of_comparison(const std::vector<ResidualStudy>& studies, const ResidualAsked& asked, Columns columns);

/// Requires at least one length.
Page page_of_scan(const std::vector<ScannedLength>& lengths, const ResidualAsked& asked, Columns columns);

}  // namespace tools
