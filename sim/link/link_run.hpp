#pragma once
// A link while it runs: its two ends. The channel between them may carry other links too; what a host is: end_run.hpp.
#include <cstdint>
#include <optional>

#include "sim/link/end_run.hpp"

namespace sim {

template <class Host>
class LinkRun {
  public:
    /// Number 0 is the link under rehearsal, number 1 its neighbour.
    LinkRun(const proto::LinkSettings& controller, const proto::LinkSettings& device, std::uint8_t number, Host& host,
            const std::optional<proto::CrcEngine>& tables, proto::ProfileUse use)
        : controller_(End::controller, controller, number, host, tables, use),
          device_(End::device, device, number, host, tables, use) {}

    [[nodiscard]] EndRun<Host>& end(End end) { return end == End::controller ? controller_ : device_; }
    [[nodiscard]] const EndRun<Host>& end(End end) const { return end == End::controller ? controller_ : device_; }
    /// Both ends running.
    [[nodiscard]] bool running() const { return controller_.running() && device_.running(); }
    /// Neither end running.
    [[nodiscard]] bool stopped() const { return !controller_.running() && !device_.running(); }

  private:
    EndRun<Host> controller_, device_;
};

}  // namespace sim
