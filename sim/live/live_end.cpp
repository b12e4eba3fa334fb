#include "sim/live/live_end.hpp"

namespace sim {

std::unique_ptr<LivePart> live_end(const Scenario& scenario, std::uint64_t seed, End end, LivePart::Send send) {
    if (end == End::controller) return std::make_unique<LiveEnd<End::controller>>(scenario, seed, std::move(send));
    return std::make_unique<LiveEnd<End::device>>(scenario, seed, std::move(send));
}

}  // namespace sim
