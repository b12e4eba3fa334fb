#pragma once
// The values in a telegram, as each end reads them: which bytes, what count, what quantity.
#include <cstdint>
#include <span>
#include <vector>

#include "sim/capture/explain.hpp"

namespace sim {

/// Puts a field for each value and end behind the payload; nothing in a telegram that holds no whole payload.
void explain_values(const CaptureSettings& settings, const TelegramView& view, std::span<const std::uint8_t> bytes,
                    std::vector<ExplainedField>& fields);

}  // namespace sim
