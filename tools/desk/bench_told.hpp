#pragma once
// The bench as the page shows it.
#include <cstdint>
#include <string>
#include <vector>

#include "tools/text/value.hpp"

namespace sim {
class DeskBench;
struct DeskGuard;
struct DeskShown;
}  // namespace sim

namespace tools {

class TypedPlant;

/// How fast plant time goes against that of the onlookers.
enum class DeskRate : std::uint8_t { paused, slowest, slow, real };
/// "paused", "1/200", "1/20", "1/1".
std::string_view name_of(DeskRate rate);

/// From that moment on plant time went at that rate.
struct RateChange {
    proto::Instant plant, wall;
    DeskRate rate = DeskRate::paused;
};

struct BenchTelling {
    const TypedPlant& typed;  ///< what it runs
    std::string begun_at;     ///< hour of its begin
    bool old = false;         ///< something was typed since
    bool as_written = false;
    DeskRate rate = DeskRate::paused;
    const std::vector<RateChange>& rates;
    std::string refused;  ///< why the last act had no effect; empty: it had
};
/// The guards that a signal is made of, through other signals too.
std::vector<const sim::DeskGuard*> guards_behind(const sim::DeskShown& shown, const TypedPlant& typed,
                                                 const std::string& signal);
/// "bench" of the page.
Value bench_told(const sim::DeskBench& bench, const BenchTelling& telling);

/// What may be put in as a fault, for the page's form.
Value fault_offers(const TypedPlant& typed);

/// A telegram byte by byte; null if it is not kept any more.
Value telegram_explained(const sim::DeskBench& bench, std::uint64_t telegram);

}  // namespace tools
