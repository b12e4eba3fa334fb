#include "sim/reading/addresses.hpp"

#include <algorithm>

#include "sim/scenario/units.hpp"

namespace sim {

TypedAddress read_address(Section& section, std::string_view key, const TypedAddress& otherwise) {
    const std::optional<std::uint64_t> value = section.hex(key, 0xFFFF'FFFF);
    if (!value) return otherwise;
    const Node& typed = *section.node().find(key);
    TypedAddress address{static_cast<std::uint32_t>(*value), 0};
    constexpr std::size_t digits_most = 8;
    const bool by_16 = typed.text.starts_with("0x") || typed.text.starts_with("0X");
    if (typed.kind == Node::Kind::text && by_16)
        address.hex_digits = static_cast<unsigned>(std::min(typed.text.size() - 2, digits_most));
    else if (typed.by_16)
        address.hex_digits = 1;
    return address;
}

std::string equal_addresses(const TypedAddress& address) {
    return "both ends have the address " + in_both_bases(address) +
           "; write two different ones, or, to rehearse that they were typed so, as peer_address what each has for the "
           "other";
}

std::string too_wide(const TypedAddress& address, const TypedEnd& end, std::uint64_t largest) {
    return in_both_bases(address) + " is too wide for " + end.profile_file + "; write 0x0 to " +
           written_hex(largest, 1);
}

}  // namespace sim
