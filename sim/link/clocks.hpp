#pragma once
// The clocks of the two ends of a link, and what else may be wrong with them. While no end can fail they are true, and
// asking costs one comparison.
#include <array>
#include <cstddef>
#include <memory>

#include "proto/contract.hpp"
#include "sim/link/failing_end.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

class Clocks {
  public:
    /// From now on ends may fail.
    void let_fail() {
        if (!ends_) ends_ = std::make_unique<std::array<FailingEnd, 2>>();
    }
    /// They are true again, as at first.
    void begin_again() { ends_.reset(); }
    [[nodiscard]] bool any_fail() const { return ends_ != nullptr; }
    /// nullptr while no end can fail.
    [[nodiscard]] const FailingEnd* failing(End end) const { return ends_ ? &(*ends_)[index(end)] : nullptr; }
    /// Requires let_fail() before.
    [[nodiscard]] FailingEnd& end(End end) {
        proto::require(any_fail(), "no end of this scenario fails");
        return (*ends_)[index(end)];
    }
    /// When a scan that the end's own clock puts at `own` happens in true time.
    [[nodiscard]] Instant deadline(End end, Instant own) const {
        return __builtin_expect(ends_ == nullptr, 1) ? own : failing_deadline(end, own);
    }
    /// What an end's clock says at `now`.
    [[nodiscard]] Instant local(End end, Instant now) const {
        return __builtin_expect(ends_ == nullptr, 1) ? now : drifting(end, now);
    }

  private:
    [[nodiscard]] static std::size_t index(End end) { return static_cast<std::size_t>(end) & 1; }
    // not inline: their divisions would take the registers from ends that do not fail
    [[nodiscard]] [[gnu::noinline]] Instant failing_deadline(End end, Instant own) const {
        return (*ends_)[index(end)].deadline(own);
    }
    [[nodiscard]] [[gnu::noinline]] Instant drifting(End end, Instant now) const {
        return (*ends_)[index(end)].clock.local(now);
    }
    std::unique_ptr<std::array<FailingEnd, 2>> ends_;
};

}  // namespace sim
