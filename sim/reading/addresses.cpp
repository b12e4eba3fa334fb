#include "sim/reading/addresses.hpp"

#include "sim/scenario/units.hpp"

namespace sim {

std::uint32_t read_address(Section& section, std::string_view key, std::uint32_t otherwise) {
    return static_cast<std::uint32_t>(section.hex(key, 0xFFFF'FFFF).value_or(otherwise));
}

std::string equal_addresses(std::uint32_t address) {
    return "both ends have the address " + written_hex(address, 4) +
           "; write two different ones, or, to rehearse that they were typed so, as peer_address what each has for the "
           "other";
}

std::string too_wide(std::uint32_t address, const TypedEnd& end, std::uint64_t largest) {
    return written_hex(address, 4) + " is too wide for " + end.profile_file + "; write 0x0 to " +
           written_hex(largest, 1);
}

}  // namespace sim
