#pragma once
// The tables of `check`: what each guard leads to, and every setting that was compared.
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

Value describe_settings(const sim::CrossCheck& check);
void settings_table(Page& page, const sim::CrossCheck& check, const EndNames& names);

}  // namespace tools
