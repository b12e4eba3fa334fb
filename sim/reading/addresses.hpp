#pragma once
// Addresses of ends, as typed, and what is said about wrong ones.
#include <cstdint>
#include <string>
#include <string_view>

#include "sim/reading/section.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

/// The hexadecimal number under `key`, at most 32 bits wide; `otherwise` where none was typed, or none that can be read
/// (which is then said).
std::uint32_t read_address(Section& section, std::string_view key, std::uint32_t otherwise);

/// What is wrong with two ends of the same address, and with one over the `largest` that the end's profile has room
/// for.
std::string equal_addresses(std::uint32_t address);
std::string too_wide(std::uint32_t address, const TypedEnd& end, std::uint64_t largest);

}  // namespace sim
