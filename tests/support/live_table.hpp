#pragma once
// A live link without sockets: its parts moved step by step on one clock.
#include <algorithm>
#include <array>
#include <memory>
#include <span>

#include "sim/live/live_part.hpp"

namespace tests {

/// Three parts on one clock whose network takes no time.
class LiveTable {
  public:
    explicit LiveTable(const sim::Scenario& scenario) : scenario_(scenario) {
        parts_[0] =
            sim::live_end(scenario, 1, sim::End::controller, [this](sim::End, std::span<const std::uint8_t> bytes) {
                parts_[1]->arrive(sim::Direction::to_device, bytes, now_);
            });
        parts_[1] = sim::live_channel(scenario, 1, [this](sim::End to, std::span<const std::uint8_t> bytes) {
            parts_[to == sim::End::controller ? 0 : 2]->arrive({}, bytes, now_);
        });
        parts_[2] = sim::live_end(scenario, 1, sim::End::device, [this](sim::End, std::span<const std::uint8_t> bytes) {
            parts_[1]->arrive(sim::Direction::to_controller, bytes, now_);
        });
        for (std::size_t i = 0; i < parts_.size(); ++i) parts_[i]->start(i + 1, now_);
    }
    sim::PartRecords run() {
        const proto::Instant end = proto::Instant{} + scenario_.duration;
        for (;;) {
            // deliveries first, then the device's scan, as in one cell
            const auto next = std::min({parts_[1]->next_event(), parts_[2]->next_event(), parts_[0]->next_event()});
            if (next >= end) break;
            now_ = next;
            for (const std::size_t i : {1U, 2U, 0U})
                if (parts_[i]->next_event() <= now_) {
                    parts_[i]->do_due(now_);
                    break;
                }
        }
        sim::PartRecords records;
        for (std::size_t i = 0; i < parts_.size(); ++i) parts_[i]->finish(records[i]);
        return records;
    }

  private:
    const sim::Scenario& scenario_;
    proto::Instant now_{};
    std::array<std::unique_ptr<sim::LivePart>, 3> parts_;
};

}  // namespace tests
