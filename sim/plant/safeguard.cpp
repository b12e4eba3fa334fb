#include "sim/plant/safeguard.hpp"

namespace sim {

void SafeguardModel::demand(DemandChannel channel, Instant now) {
    if (!two_channels_ || channel != DemandChannel::b) ++demands_[0];
    if (!two_channels_ || channel != DemandChannel::a) ++demands_[1];
    if (latches_) latched_ = true;
    changed(now);
}

void SafeguardModel::release(DemandChannel channel, Instant now) {
    if ((!two_channels_ || channel != DemandChannel::b) && off(0)) --demands_[0];
    if ((!two_channels_ || channel != DemandChannel::a) && off(1)) --demands_[1];
    changed(now);
}

void SafeguardModel::changed(Instant now) {
    if (off(0) && off(1)) both_were_off_ = true;
    if (off(0) == off(1))
        differs_since_ = proto::never;
    else if (differs_since_ == proto::never)
        differs_since_ = now;
}

void SafeguardModel::reset() {
    if (demanded() || !both_were_off_) return;
    latched_ = faulty_ = false;
}

void SafeguardModel::check(Instant now) {
    if (now < next_check()) return;
    faulty_ = true;
    both_were_off_ = false;
    ++discrepancies_;
}

}  // namespace sim
