#include "sim/plant/pairs.hpp"

#include <algorithm>

#include "sim/plant/application.hpp"
#include "sim/plant/plant.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

std::vector<std::size_t> feeding(const Scenario& scenario, std::uint64_t signal) {
    std::vector<std::size_t> found;
    for (std::size_t i = 0; i < scenario.safeguards.size(); ++i) {
        bool feeds = false;
        for (std::size_t mode = 0; mode < scenario.mode_count(); ++mode)
            feeds = feeds || (signals_depending_on(scenario, i, mode) & signal) != 0;
        if (feeds) found.push_back(i);
    }
    return found;
}

}  // namespace

Pairs::Pairs(const Scenario& scenario, End end) {
    for (std::size_t second = 0; second < scenario.signals.size(); ++second) {
        const Signal& signal = scenario.signals[second];
        for (std::size_t first = 0; first < scenario.signals.size(); ++first) {
            if (signal.elsewhere || signal.inverse_of.empty() || scenario.signals[first].name != signal.inverse_of)
                continue;
            const Bits bits{std::uint64_t{1} << first, std::uint64_t{1} << second};
            if (sender(signal.direction) == end)
                sent_.push_back(bits);
            else
                received_.push_back({bits, signal.discrepancy, feeding(scenario, bits.first), {}});
        }
    }
}

void Pairs::begin_again() {
    for (Read& read : received_) read.now = {};
}

std::uint64_t Pairs::sent(std::uint64_t computed) const {
    for (const Bits& bits : sent_)
        computed = (computed & bits.first) != 0 ? computed & ~bits.second : computed | bits.second;
    return computed;
}

std::uint64_t Pairs::proper(std::uint64_t received) const {
    for (const Read& read : received_)
        if ((received & read.bits.second) != 0) received &= ~read.bits.first;
    return received;
}

void Pairs::Read::see(bool first, bool second, bool reset, Instant at) {
    if (first != second) {
        now.equal_since = proto::never;
        now.seen_proper = true;
        if (reset && first) now.latched = false;
        return;
    }
    if (!first && !now.seen_proper) return;
    if (now.equal_since == proto::never) now.equal_since = at;
    if (at - now.equal_since >= discrepancy) now.latched = true;
}

std::uint64_t Pairs::used(std::uint64_t received, bool running, const Plant& plant, Instant now) {
    std::uint64_t use = proper(received);
    for (Read& read : received_) {
        std::uint64_t resets = 0;
        for (const std::size_t safeguard : read.fed_by) resets += plant.safeguard(safeguard).resets();
        const bool reset = resets != read.now.resets;
        read.now.resets = resets;
        if (running) {
            read.see((received & read.bits.first) != 0, (received & read.bits.second) != 0, reset, now);
        } else {
            read.now.equal_since = proto::never;
            read.now.seen_proper = false;
        }
        if (read.now.latched) use &= ~read.bits.first;
    }
    return use;
}

Instant Pairs::next() const {
    Instant next = proto::never;
    for (const Read& read : received_)
        if (read.now.equal_since != proto::never && !read.now.latched)
            next = std::min(next, read.now.equal_since + read.discrepancy);
    return next;
}

}  // namespace sim
