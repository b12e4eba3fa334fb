#pragma once
// The parts of a live link.
#include <cstdint>
#include <string_view>

#include "proto/time.hpp"

namespace sim {

enum class Part : std::uint8_t { controller, channel, device };
inline constexpr unsigned part_count = 3;
std::string_view name_of(Part part);

/// A part that was not there from `from` until `until`, by the channel's clock.
struct PartAway {
    Part part = Part::controller;
    proto::Instant from{}, until{};
    bool recorded = true;  ///< false: nobody has what it wrote down before
};

}  // namespace sim
