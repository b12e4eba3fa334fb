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
    if (kind_ == GuardKind::two_hand) hands_changed(now);
    if (kind_ == GuardKind::enabling) {
        // once pressed through, the middle position counts only after it was let go (IEC 60204-1, 10.9; from memory)
        if (off(1)) ready_ = false;
        if (off(0)) ready_ = true;
    }
}

void SafeguardModel::hands_changed(Instant now) {
    if (off(0) || off(1)) ready_ = false;
    if (off(0) && off(1)) {
        both_let_go_ = true;
        first_hand_at_ = proto::never;
        return;
    }
    if (!both_let_go_) return;
    if (first_hand_at_ == proto::never) first_hand_at_ = now;
    if (off(0) || off(1)) return;
    ready_ = now - first_hand_at_ <= hands_together;
    both_let_go_ = false;
}

void SafeguardModel::reset() {
    if (demanded() || !both_were_off_) return;
    latched_ = faulty_ = false;
    ++resets_;
}

void SafeguardModel::check(Instant now) {
    if (now < next_check()) return;
    faulty_ = true;
    both_were_off_ = false;
    ++discrepancies_;
}

}  // namespace sim
