#pragma once
// Whether parameters are those of a CRC, without building its tables: asked for each layout of a telegram.
#include <optional>

#include "proto/crc.hpp"

namespace proto {

/// The first error, in the order of CrcSpecError, for which CrcEngine::make() would refuse it; nothing if it is a CRC.
std::optional<CrcSpecError> fault_in(const CrcSpec& spec);

}  // namespace proto
