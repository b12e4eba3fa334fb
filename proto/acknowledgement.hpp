#pragma once
// The way out of the safe state: error-free exchanges, a request, and a deliberate human act (R-60..R-62).
#include <cstdint>

namespace proto {

/// Counts fresh exchanges since the last error: after two the end may ask for an acknowledgement.
class CleanRun {
  public:
    static constexpr unsigned needed = 2;
    void reset() { fresh_ = 0; }
    void fresh() {
        if (fresh_ < needed) ++fresh_;
    }
    [[nodiscard]] bool enough() const { return fresh_ >= needed; }
    [[nodiscard]] unsigned count() const { return fresh_; }

  private:
    unsigned fresh_ = 0;
};

/// The operator's contact at the controller. Only a rising edge that comes after the request counts, so that a stuck
/// or taped button never restarts anything.
class AcknowledgeContact {
  public:
    enum class Edge : std::uint8_t { none, rising };
    Edge set(bool closed) {
        const Edge edge = closed && !closed_ ? Edge::rising : Edge::none;
        closed_ = closed;
        return edge;
    }
    [[nodiscard]] bool closed() const { return closed_; }

  private:
    bool closed_ = false;
};

}  // namespace proto
