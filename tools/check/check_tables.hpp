#pragma once
// The tables of `check`: what each guard leads to, and every setting that was compared.
#include <string>

#include "tools/text/page.hpp"
#include "tools/text/value.hpp"
#include "tools/text/words.hpp"

namespace sim {
struct CrossCheck;
struct FunctionCheck;
}  // namespace sim

namespace tools {

Value describe_guards(const sim::FunctionCheck& check);
/// Nothing without safeguards.
void guards_table(Page& page, const sim::FunctionCheck& check);

/// What was meant, and what is typed at each end. `link`: of a cell, which of its links; else empty.
Value::List describe_settings(const sim::CrossCheck& check, const std::string& link);
void settings_table(Page& page, const sim::CrossCheck& check, const EndNames& names, const std::string& link);

}  // namespace tools
