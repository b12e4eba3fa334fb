#include "sim/judge/demand_trail.hpp"

#include <algorithm>
#include <utility>

#include "sim/plant/reached.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

bool is_zero(std::uint64_t word, const DemandHop& hop) { return (word >> hop.signal & 1) == 0; }

}  // namespace

DemandTrail::DemandTrail(const Scenario& scenario, std::vector<Duration> beyond)
    : scenario_(scenario), beyond_(std::move(beyond)) {
    for (std::size_t i = 0; i < scenario.safeguards.size(); ++i) {
        falling_.push_back(falling_with(scenario, i));
        std::erase_if(falling_.back(), [&](std::size_t signal) { return scenario.signals[signal].elsewhere; });
    }
}

template <class Does>
void DemandTrail::each_open_hop(Does does) {
    for (const std::size_t place : open_)
        for (DemandHop& hop : trails_[place].hops) does(trails_[place], hop, scenario_.signals[hop.signal].direction);
}

void DemandTrail::begin(std::size_t demand, Instant now, bool judged_here) {
    Trail trail;
    trail.demand = demand;
    trail.safeguard = scenario_.place_of(scenario_.demands[demand].safeguard);
    trail.since = now;
    trail.judged_here = judged_here;
    for (const std::size_t signal : falling_[trail.safeguard]) {
        DemandHop hop;
        hop.signal = signal;
        const End user = receiver(scenario_.signals[signal].direction);
        hop.was_zero = is_zero(used_[static_cast<std::size_t>(user)], hop) || another_holds(signal, trail.safeguard);
        trail.hops.push_back(hop);
    }
    open_.push_back(trails_.size());
    trails_.push_back(std::move(trail));
}

/// Another safeguard is not free either, and its 0 is in use there or on its way.
bool DemandTrail::another_holds(std::size_t signal, std::size_t safeguard) const {
    for (std::size_t i = 0; i < falling_.size(); ++i) {
        const bool falls = std::find(falling_[i].begin(), falling_[i].end(), signal) != falling_[i].end();
        if (i != safeguard && falls && (free_ >> i & 1) == 0) return true;
    }
    return false;
}

void DemandTrail::hear(const Contacted& contacted) {
    const std::uint64_t bit = std::uint64_t{1} << contacted.safeguard;
    free_ = contacted.free ? free_ | bit : free_ & ~bit;
    if (!contacted.free || open_.empty()) return;
    for (const std::size_t place : open_)
        if (Trail& trail = trails_[place]; trail.safeguard == contacted.safeguard && trail.ends == proto::never)
            trail.ends = contacted.at + (beyond_.empty() ? Duration{} : beyond_[contacted.safeguard]);
    close_finished(contacted.at);
}

void DemandTrail::hear(const Computed& computed) {
    each_open_hop([&](const Trail& trail, DemandHop& hop, Direction way) {
        if (computed.at < trail.ends && sender(way) == computed.end && !hop.computed && is_zero(computed.signals, hop))
            hop.computed = computed.at - trail.since;
    });
}

void DemandTrail::sent(const Produced& produced) {
    each_open_hop([&](const Trail& trail, DemandHop& hop, Direction way) {
        if (way == produced.way && hop.computed && !hop.sent && is_zero(produced.signals, hop))
            hop.sent = produced.at - trail.since;
    });
}

void DemandTrail::hear(const InUse& in_use) {
    used_[static_cast<std::size_t>(in_use.end)] = in_use.signals;
    if (open_.empty()) return;
    each_open_hop([&](const Trail& trail, DemandHop& hop, Direction way) {
        if (receiver(way) == in_use.end && !hop.was_zero && !hop.received && is_zero(in_use.signals, hop))
            hop.received = in_use.at - trail.since;
    });
    close_finished(in_use.at);
}

void DemandTrail::close_finished(Instant now) {
    const auto finished = [&](std::size_t place) {
        const Trail& trail = trails_[place];
        return std::all_of(trail.hops.begin(), trail.hops.end(), [&](const DemandHop& hop) {
            return hop.was_zero || hop.received || (trail.ends <= now && !hop.computed);
        });
    };
    open_.erase(std::remove_if(open_.begin(), open_.end(), finished), open_.end());
}

void DemandTrail::put_into(RunResult& result) const {
    std::size_t next = 0;
    for (const Trail& trail : trails_)
        if (trail.judged_here && next < result.demands.size()) result.demands[next++].hops = trail.hops;
}

std::vector<DemandHop> DemandTrail::hops_of(std::size_t demand) const {
    for (const Trail& trail : trails_)
        if (trail.demand == demand) return trail.hops;
    return {};
}

}  // namespace sim
