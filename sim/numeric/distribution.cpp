#include "sim/numeric/distribution.hpp"

#include <algorithm>

namespace sim {

void Distribution::settle() {
    std::sort(waiting_.begin(), waiting_.end());
    std::vector<Counted> merged;
    merged.reserve(counted_.size() + waiting_.size());
    auto old = counted_.begin();
    const auto put = [&merged](std::int64_t value, std::uint64_t count) {
        if (!merged.empty() && merged.back().value == value)
            merged.back().count += count;
        else
            merged.push_back({value, count});
    };
    for (const std::int64_t value : waiting_) {
        for (; old != counted_.end() && old->value <= value; ++old) put(old->value, old->count);
        put(value, 1);
    }
    for (; old != counted_.end(); ++old) put(old->value, old->count);
    settled_ += waiting_.size();
    waiting_.clear();
    counted_ = std::move(merged);
}

std::optional<Distribution::Points> Distribution::points() {
    settle();
    if (counted_.empty()) return std::nullopt;
    const auto at_rank = [this](std::uint64_t rank) {
        std::uint64_t passed = 0;
        for (const Counted& one : counted_)
            if ((passed += one.count) >= rank) return proto::Duration{one.value};
        return proto::Duration{counted_.back().value};
    };
    const std::uint64_t n = settled_;
    return Points{at_rank((n + 1) / 2), at_rank(n - n / 100), {counted_.back().value}};
}

}  // namespace sim
