#pragma once
// What would mend an act at the bench that had no effect: the act that is missing, as a button.
#include "sim/desk/shown.hpp"
#include "tools/desk/fields.hpp"
#include "tools/desk/refusal.hpp"

namespace tools {

class TypedPlant;

struct AtBench {
    const sim::DeskShown shown;  ///< after the act
    const TypedPlant& typed;     ///< what the bench runs
    bool as_written = false;     ///< acts and faults of the file happen too
    const Fields& asked;         ///< the act
};
DeskAnswer refuse_at_bench(const sim::DeskRefused& refused, const AtBench& at);

}  // namespace tools
