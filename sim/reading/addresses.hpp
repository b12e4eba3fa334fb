#pragma once
// Addresses of ends, as typed, and what is said about wrong ones.
#include <cstdint>
#include <string>
#include <string_view>

#include "sim/reading/section.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

/// The number under `key`, at most 32 bits wide, and how it was typed; `otherwise` where none was typed, or none that
/// can be read (which is then said).
TypedAddress read_address(Section& section, std::string_view key, const TypedAddress& otherwise);

/// What is wrong with two ends of the same address, and with one over the `largest` that the end's profile has room
/// for.
std::string equal_addresses(const TypedAddress& address);
std::string too_wide(const TypedAddress& address, const TypedEnd& end, std::uint64_t largest);

}  // namespace sim
