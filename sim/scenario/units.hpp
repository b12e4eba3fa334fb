#pragma once
// Quantities as people write them, "40 ms" or "120 mm/s", read exactly: decimal digits become an integer number of the
// smallest unit without any floating-point step.
#include <cstdint>
#include <span>
#include <string>
#include <string_view>

#include "proto/result.hpp"
#include "proto/time.hpp"

namespace sim {

/// A unit and how many of the smallest unit it is.
struct Unit {
    std::string_view name;
    std::int64_t factor;
};

std::span<const Unit> duration_units();      ///< smallest: ns; ns, us, ms, s, min, h
std::span<const Unit> speed_units();         ///< smallest: um/s; um/s, mm/s, m/s
std::span<const Unit> length_units();        ///< smallest: um; um, mm, cm, m
std::span<const Unit> angle_units();         ///< smallest: 0.001 degree; deg
std::span<const Unit> acceleration_units();  ///< smallest: um/s2; um/s2, mm/s2, m/s2

enum class QuantityFault : std::uint8_t {
    no_number,
    no_unit,
    unknown_unit,
    too_fine,   ///< smaller parts than the smallest unit
    too_large,  ///< over 2^63 - 1 of the smallest unit
};

/// The quantity in the smallest unit of `units`; may be negative. Spaces around number and unit are ignored.
proto::Result<std::int64_t, QuantityFault> parse_quantity(std::string_view text, std::span<const Unit> units);

/// "45 ms", "0.4 ms", "2 s", "6 min": exact, and readable by parse_quantity().
std::string written(proto::Duration duration);

/// "0x0021": at least `digits` hexadecimal digits.
std::string written_hex(std::uint64_t value, unsigned digits);

}  // namespace sim
