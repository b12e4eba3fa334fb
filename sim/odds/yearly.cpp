#include "sim/odds/yearly.hpp"

#include <algorithm>
#include <cmath>

#include "sim/numeric/portable_math.hpp"

namespace sim {

Duration step_of(const LinkModel& link, Direction way) {
    const bool in_cycles = way == Direction::to_device || link.exchange == proto::Exchange::polled;
    return in_cycles ? link.controller.scan : link.device.scan;
}

double bent_stops(double bent, const EndModel& end, Duration cycle) {
    if (end.reaction == proto::Reaction::trip) return bent;
    const std::int64_t within = (end.error_interval.ns + cycle.ns - 1) / cycle.ns - 1;
    if (within <= 0 || !(bent > 0.0)) return 0.0;
    return bent * -portable_expm1(static_cast<double>(within) * portable_log1p(-std::min(bent, 1.0 - 1e-12)));
}

}  // namespace sim
