#pragma once
// Named CRCs, by the names of the public catalogue of parametrised CRC algorithms.
#include <cstdint>
#include <span>
#include <string_view>

#include "proto/crc.hpp"

namespace proto {

struct NamedCrc {
    std::string_view name;
    CrcSpec spec;
    std::uint64_t check;  ///< value over the nine ASCII digits "123456789"
};

/// All of them, in the order of width, then name.
std::span<const NamedCrc> crc_catalogue();

/// The CRC of that exact name, or nullptr.
const NamedCrc* find_crc(std::string_view name);

/// The catalogue's name nearest to `name` by edit distance, for messages; never empty.
std::string_view nearest_crc_name(std::string_view name);

}  // namespace proto
