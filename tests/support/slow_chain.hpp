#pragma once
// Two links in a chain once more: a guard at the device of the first, one controller, an output at the device of the
// second. Slow and obvious, of the model ends of model_endpoint.hpp; nothing of the simulator is used here.
#include <array>
#include <cstdint>
#include <optional>

#include "proto/time.hpp"
#include "tests/support/cells.hpp"

namespace tests {

/// What disturbs a link, both ways: telegrams sent from `begin` on are later by `extra`, those sent from `silence` on
/// are lost; later ones never overtake. Of what two links share one episode may do different things to each.
struct Episode {
    bool on = false;
    proto::Duration begin{}, extra{}, silence{};
};

struct ChainDemand {
    proto::Duration at{}, lasting{};  ///< of the guard's contact
};

/// From the contact to the scan of the output's end in which it has no value of 1; nothing if that did not come before
/// `end`. Requires constant delays and no time stamps. Both links run before the demand.
std::optional<proto::Duration> slow_chain(const LinkOfChain& first, const LinkOfChain& second,
                                          const std::array<Episode, 2>& episodes, const ChainDemand& demand,
                                          proto::Duration end);

}  // namespace tests
