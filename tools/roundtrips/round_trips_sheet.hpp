#pragma once
#include "tools/report/sheet.hpp"
#include "tools/roundtrips/finding.hpp"
#include "tools/text/value.hpp"

namespace tools {

/// roundtrips.html: verdict and figures, how the times spread, their course, the longest ones, gaps, how to use them.
/// Requires that something was measured.
Sheet sheet_of(const RoundTripFinding& found);
/// What its charts draw.
Value chart_data_of(const RoundTripFinding& found);

}  // namespace tools
