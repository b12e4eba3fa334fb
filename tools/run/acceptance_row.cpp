#include "tools/run/acceptance_row.hpp"

namespace tools {
namespace {

constexpr double um_per_mm = 1000.0;

}  // namespace

void tell(AcceptanceRow& row, const sim::Passes& seen) {
    row.passes = seen.passes;
    if (!seen.passes)
        row.rehearsal = seen.why.empty() ? "" : "not rehearsed: " + seen.why;
    else
        row.rehearsal = *seen.passes ? seen.why : "FAILED: " + seen.why;
}

Value::Object describe(const AcceptanceRow& row, std::size_t number) {
    Value function, slow;
    if (row.function) function = Value(static_cast<std::uint64_t>(*row.function + 1));
    if (row.slow_um_s) slow = Value(static_cast<double>(*row.slow_um_s) / um_per_mm);
    return Value::Object{{"no", static_cast<std::uint64_t>(number)},
                         {"stage", row.stage},
                         {"do", row.act},
                         {"controller_shows", row.controller},
                         {"device_shows", row.device},
                         {"machine", row.machine},
                         {"clock", Value::text_or_null(row.clock)},
                         {"allowed_ms", Value::of(row.allowed)},
                         {"by_settings_ms", Value::of(row.by_settings)},
                         {"not_before_ms", Value::of(row.at_least)},
                         {"reckoned", Value::text_or_null(row.reckoned)},
                         {"rehearsed_ms", Value::of(row.rehearsed)},
                         {"stands_allowed_ms", Value::of(row.stands_allowed)},
                         {"stands_rehearsed_ms", Value::of(row.stands_rehearsed)},
                         {"rehearsal", Value::text_or_null(row.rehearsal)},
                         {"rehearsal_passes", Value::of(row.passes)},
                         {"undo", Value::text_or_null(row.undo)},
                         {"times", row.times},
                         {"optional", row.need == AcceptanceRow::Need::optional_by_engineer},
                         {"function", function},
                         {"safeguard", Value::text_or_null(row.safeguard)},
                         {"at_most_mm_s", slow},
                         {"noted", row.noted}};
}

}  // namespace tools
