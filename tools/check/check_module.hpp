#pragma once
// A module's file by itself: its lengths and what lies where.
#include "tools/text/page.hpp"
#include "tools/text/value.hpp"

namespace sim {
struct ModuleLayout;
}

namespace tools {

Value describe(const sim::ModuleLayout& layout);
Page page_of(const sim::ModuleLayout& layout, Columns columns);

}  // namespace tools
