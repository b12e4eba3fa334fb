#pragma once
// What faults with a condition ask of the world around the channel.
#include <cstdint>

#include "proto/endpoint.hpp"
#include "proto/time.hpp"
#include "sim/scenario/faults.hpp"

namespace sim {

class Surroundings {
  public:
    /// Of an end of the link under rehearsal.
    [[nodiscard]] virtual proto::State state(End end) const = 0;
    /// Requires a machine.
    [[nodiscard]] virtual bool machine_moves(proto::Instant now) const = 0;
    /// Micrometres from one end of its travel; requires a machine.
    [[nodiscard]] virtual std::int64_t machine_position(proto::Instant now) const = 0;
    /// How often it has happened up to `now`: never falls.
    [[nodiscard]] virtual std::uint64_t happened(FaultCondition::Event event, proto::Instant now) const = 0;

  protected:
    ~Surroundings() = default;
};

}  // namespace sim
