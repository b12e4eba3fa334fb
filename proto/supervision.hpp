#pragma once
// What an end supervises: the time since the last sign of life, and how often telegrams were wrong.
#include <optional>

#include "proto/link_settings.hpp"
#include "proto/time.hpp"

namespace proto {

/// Time expectation. Armed by the handshake and by fresh acceptances only.
class Watchdog {
  public:
    explicit Watchdog(Duration time) : time_(time) {}
    void arm(Instant now) { last_ = now; }
    void disarm() { last_ = never; }
    [[nodiscard]] bool armed() const { return last_ != never; }
    /// More than the watchdog time has passed since the last acceptance.
    [[nodiscard]] bool expired(Instant now) const { return last_ != never && now - last_ > time_; }
    [[nodiscard]] Instant last() const { return last_; }

  private:
    Duration time_;
    Instant last_ = never;  ///< never: not armed
};

/// The permitted interval between two counted errors of one receiving end. Survives acknowledgements.
class ErrorInterval {
  public:
    ErrorInterval(Reaction reaction, Duration interval) : reaction_(reaction), interval_(interval) {}
    /// Counts an error; true if it must stop the end now.
    bool count(Instant now) {
        const bool again = last_ != never && now - last_ < interval_;
        last_ = now;
        return reaction_ == Reaction::trip || again;
    }

  private:
    Reaction reaction_;
    Duration interval_;
    Instant last_ = never;
};

}  // namespace proto
