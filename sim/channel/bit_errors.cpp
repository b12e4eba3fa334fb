#include "sim/channel/bit_errors.hpp"

#include "proto/contract.hpp"
#include "sim/numeric/random.hpp"

namespace sim {

BitErrors::BitErrors(double rate, unsigned bits) : rate_(rate) {
    proto::require(rate >= 0.0 && rate <= 1.0, "bit errors: a rate must be 0..1");
    if (!(rate > 0.0)) return;
    within_.push_back(threshold(flipped_));
    reach(bits);
}

void BitErrors::reach(unsigned bits) {
    proto::require(bits <= bits_max, "bit errors: too many bits");
    if (!any() || bits < within_.size()) return;
    within_.reserve(bits + 1);
    // 1 - (1 - p)^k, as a sum of what each bit adds: no power, and no difference of nearly equal numbers.
    while (within_.size() <= bits) {
        flipped_ += rate_ * (1.0 - flipped_);
        within_.push_back(threshold(flipped_));
    }
}

unsigned BitErrors::first_flip(std::uint64_t draw, unsigned bits) const {
    proto::require(bits < within_.size(), "bit errors: too many bits");
    if (!happens(draw, within_[bits])) return bits;
    unsigned none = 0;     // no flip within the first `none` bits
    unsigned some = bits;  // one within the first `some`
    while (some - none > 1) {
        const unsigned middle = none + (some - none) / 2;
        (happens(draw, within_[middle]) ? some : none) = middle;
    }
    return none;
}

unsigned BitErrors::bend(std::span<std::uint8_t> bytes, std::uint64_t draw) const {
    const auto bits = static_cast<unsigned>(bytes.size()) * 8;
    unsigned flips = 0;
    for (unsigned at = 0; at < bits; ++at) {
        at += first_flip(draw, bits - at);
        if (at >= bits) break;
        flip(bytes, at);
        ++flips;
        draw = scramble(draw + 0x9E3779B97F4A7C15ULL);
    }
    return flips;
}

}  // namespace sim
