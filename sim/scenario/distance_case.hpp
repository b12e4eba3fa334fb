#pragma once
// Which rule of ISO 13855 a safeguard's minimum distance follows.
#include <cstdint>
#include <optional>
#include <string_view>

namespace sim {

enum class Edition : std::uint8_t { iso_13855_2010, iso_13855_2024 };
/// "2010", "2024".
std::string_view name_of(Edition edition);

enum class Approach : std::uint8_t {
    right_angle,       ///< towards a detection field, at right angles
    multi_beam,        ///< several single beams, at right angles
    single_beam,       ///< one beam
    parallel,          ///< along a detection field at a height
    mat,               ///< pressure-sensitive mat on the floor
    two_hand,          ///< two-hand control
    interlocked_guard  ///< interlocked guard without guard locking
};
/// As on the command line: "right-angle", "interlocked-guard".
std::string_view name_of(Approach approach);

struct DistanceCase {
    Edition edition = Edition::iso_13855_2010;
    Approach approach = Approach::right_angle;
    std::optional<std::int64_t> resolution_um = {};  ///< detection capability d
    std::optional<std::int64_t> height_um = {};      ///< H of the field over the floor, parallel approach
    /// C_RO, by the height of the hazard and of the field's upper edge, from the standard's table (not kept here).
    std::optional<std::int64_t> reaching_over_um = {};
    /// Through the opening of an interlocked guard before its switch reports, from ISO 13857.
    std::optional<std::int64_t> reaching_through_um = {};
    std::int64_t supplement_um = 0;  ///< Z of the edition of 2024: uncertainty of measurement, wear of the brake
};

}  // namespace sim
