#pragma once
// The contacts of one safeguard and what is wired behind them: one channel or two with a discrepancy time, and a latch.
// Its signal is off at once when any channel is off; nothing here ever delays a demand.
#include <array>
#include <cstdint>

#include "proto/time.hpp"
#include "sim/scenario/acts.hpp"
#include "sim/scenario/plant.hpp"

namespace sim {

using proto::Instant;

class SafeguardModel {
  public:
    explicit SafeguardModel(const Safeguard& safeguard)
        : two_channels_(safeguard.channels == 2), latches_(safeguard.latched), discrepancy_(safeguard.discrepancy) {}

    /// A demand begins, or ends, on one channel or on both. Demands may overlap; each end belongs to a begin.
    void demand(DemandChannel channel, Instant now);
    void release(DemandChannel channel, Instant now);
    /// The deliberate act at the safeguard (ISO 13850: it starts nothing). Without effect while a channel is off, or
    /// after a discrepancy before both channels have been off together.
    void reset();
    /// Two channels have differed for longer than the discrepancy time. To be called at next_check(), after everything
    /// else that happens at that instant.
    void check(Instant now);

    /// When check() is next wanted.
    [[nodiscard]] Instant next_check() const {
        return differs_since_ == proto::never || faulty_ ? proto::never : differs_since_ + discrepancy_;
    }
    /// No demand: the signal may be on.
    [[nodiscard]] bool free() const { return !off(0) && !off(1) && !latched_ && !faulty_; }
    [[nodiscard]] bool demanded() const { return off(0) || off(1); }
    /// Stays off until it is reset.
    [[nodiscard]] bool latched() const { return latched_; }
    [[nodiscard]] bool faulty() const { return faulty_; }
    [[nodiscard]] std::uint64_t discrepancies() const { return discrepancies_; }

  private:
    [[nodiscard]] bool off(std::size_t channel) const { return demands_[channel] > 0; }
    void changed(Instant now);

    bool two_channels_, latches_;
    Duration discrepancy_;
    std::array<unsigned, 2> demands_{};  ///< going on; a safeguard with one channel has both of them alike
    Instant differs_since_ = proto::never;
    bool latched_ = false;
    bool faulty_ = false;        ///< a discrepancy was found, and no reset came since both channels were off
    bool both_were_off_ = true;  ///< together, since the discrepancy was found
    std::uint64_t discrepancies_ = 0;
};

}  // namespace sim
