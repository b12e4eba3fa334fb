#pragma once
// The setting that keeps two ends apart, for programs.
#include "tools/text/value.hpp"

namespace sim {
struct KeptApart;
}

namespace tools {

Value describe(const sim::KeptApart& apart);

}  // namespace tools
