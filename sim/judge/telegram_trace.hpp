#pragma once
// What becomes of every telegram of the link under rehearsal, told while it happens: for a capture. Nobody has to
// listen. Who listens knows the truth, like the observer, and changes nothing.
#include <tuple>

#include "sim/channel/passage.hpp"
#include "sim/judge/events.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {

/// Told in the order of time.
class TelegramTrace {
  public:
    virtual void sent(const Sent& sent) = 0;
    virtual void befell(const Befell& befell) = 0;
    virtual void delivered(const Delivered& delivered) = 0;
    virtual void unheard(const Unheard& unheard) = 0;
    virtual void concluded(const Concluded& concluded) = 0;
    /// Nothing more is wanted.
    [[nodiscard]] virtual bool full() const = 0;

  protected:
    ~TelegramTrace() = default;
};

/// Hears for a trace that may not be there; it is let go once it is full and all about its last delivery was told.
class TraceIfAny {
  public:
    explicit TraceIfAny(TelegramTrace* trace) : trace_(trace) {}
    [[nodiscard]] bool any() const { return trace_ != nullptr; }

    using hears = std::tuple<Sent, Befell, Delivered, Unheard, Concluded>;
    void hear(const Sent& fact) {
        if (wants()) trace_->sent(fact);
    }
    void hear(const Befell& fact) {
        if (wants()) trace_->befell(fact);
    }
    void hear(const Delivered& fact) {
        if (!wants()) return;
        trace_->delivered(fact);
        delivered_ = true;
    }
    void hear(const Unheard& fact) {
        // of the delivery just told, unless an end lost its power
        if (fact.why == WhyUnheard::forgotten ? wants() : any()) trace_->unheard(fact);
    }
    void hear(const Concluded& fact) {
        if (wants()) trace_->concluded(fact);
    }

  private:
    [[nodiscard]] bool wants() {
        if (__builtin_expect(trace_ == nullptr, 1)) return false;
        if (delivered_ && trace_->full()) trace_ = nullptr;
        delivered_ = false;
        return trace_ != nullptr;
    }
    TelegramTrace* trace_;
    bool delivered_ = false;  ///< since the last question whether it is full
};

}  // namespace sim
