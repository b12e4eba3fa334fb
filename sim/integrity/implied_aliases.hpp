#pragma once
// Implied fields that the CRC cannot tell apart: a CRC of r bits holds r bits' worth of them, not more.
#include <cstdint>
#include <vector>

#include "proto/profile.hpp"

namespace sim {

/// Two telegrams whose implied fields differ by this (exclusive or) have the same CRC, whatever else is in them.
struct ImpliedAlias {
    std::uint32_t destination = 0, source = 0, number = 0;
};

/// Independent ones, every alias being an exclusive or of some of them; those of the destination alone come first, then
/// those of the addresses. Empty if all implied values can be told apart. Requires a profile that can be laid out.
std::vector<ImpliedAlias> implied_aliases(const proto::Profile& given);

/// Bits that are implied: both addresses and the number.
unsigned implied_bits(const proto::Profile& profile);

}  // namespace sim
