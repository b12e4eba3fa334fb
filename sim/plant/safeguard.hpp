#pragma once
// The contacts of one safeguard and what is wired behind them: one channel or two with a discrepancy time, and a latch.
// Its signal is off at once when any channel is off; nothing here ever delays a demand. A two-hand control has a hand
// on each channel, an enabling device its let-go contact on channel a and its pressed-through contact on channel b.
#include <array>
#include <cstdint>
#include <optional>

#include "proto/time.hpp"
#include "sim/scenario/acts.hpp"
#include "sim/scenario/plant.hpp"

namespace sim {

using proto::Instant;

class SafeguardModel {
  public:
    explicit SafeguardModel(const Safeguard& safeguard)
        : two_channels_(safeguard.channels == 2),
          latches_(safeguard.latched),
          kind_(safeguard.kind),
          discrepancy_(safeguard.discrepancy) {}

    /// A two-hand control is pressed again only if both hands let go before and pressed within so long of each other
    /// (ISO 13851, type III; from memory).
    static constexpr Duration hands_together = proto::milliseconds(500);

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
        // one hand, or one position of an enabling device, is no discrepancy
        if (kind_ == GuardKind::two_hand || kind_ == GuardKind::enabling) return proto::never;
        return differs_since_ == proto::never || faulty_ ? proto::never : differs_since_ + discrepancy_;
    }
    /// No demand: the signal may be on.
    [[nodiscard]] bool free() const { return !off(0) && !off(1) && !latched_ && !faulty_ && ready_; }
    [[nodiscard]] bool demanded() const { return off(0) || off(1); }
    /// Stays off until it is reset.
    [[nodiscard]] bool latched() const { return latched_; }
    [[nodiscard]] bool faulty() const { return faulty_; }
    [[nodiscard]] std::uint64_t discrepancies() const { return discrepancies_; }
    /// How often a reset counted, whether there was something to reset or not.
    [[nodiscard]] std::uint64_t resets() const { return resets_; }

  private:
    [[nodiscard]] bool off(std::size_t channel) const { return demands_[channel] > 0; }
    void changed(Instant now);
    void hands_changed(Instant now);

    bool two_channels_, latches_;
    std::optional<GuardKind> kind_;
    Duration discrepancy_;
    std::array<unsigned, 2> demands_{};  ///< going on; a safeguard with one channel has both of them alike
    Instant differs_since_ = proto::never;
    bool latched_ = false;
    bool faulty_ = false;        ///< a discrepancy was found, and no reset came since both channels were off
    bool both_were_off_ = true;  ///< together, since the discrepancy was found
    std::uint64_t discrepancies_ = 0, resets_ = 0;
    bool ready_ = true;                     ///< pressed as it must be; of other kinds always
    bool both_let_go_ = false;              ///< hands, since one of them let go
    Instant first_hand_at_ = proto::never;  ///< pressed again; never: neither
};

}  // namespace sim
