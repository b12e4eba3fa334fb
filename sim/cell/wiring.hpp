#pragma once
// What a channel with faults must know of the scenario: shared by a whole cell and by a channel on a network.
#include <optional>

#include "proto/crc.hpp"
#include "sim/channel/fault_stages.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

/// Without log, surroundings, neighbour, seed and strays, which the owner adds.
StageContext stage_context(const Scenario& scenario);
/// The engine of the link's CRC, so that all ends share its tables; nothing without a CRC.
std::optional<proto::CrcEngine> crc_tables(const Scenario& scenario,
                                           const std::optional<proto::CrcEngine>& known = std::nullopt);

}  // namespace sim
