#pragma once
// The link of the exchange benchmark, and the settings of its ends, from which the other benchmarks' differ little.
#include <cstdint>

#include "sim/scenario/scenario.hpp"

namespace benchmarks {

/// One end of it: addresses and numbers of 16 bits carried, a CRC-32, 24 bytes in all; cycle 4 ms, watchdog 12 ms.
proto::LinkSettings end_settings(proto::End end);

/// The floor's link: 4 ms cycle, 12 ms watchdog, 64-cell delays, one guard signal each way, a press. Lasts so many
/// cycles; nothing goes wrong.
sim::Scenario exchange_link(std::uint64_t cycles);

}  // namespace benchmarks
