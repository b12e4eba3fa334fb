#pragma once
// A live link without sockets: its parts moved step by step on one clock.
#include <algorithm>
#include <array>
#include <memory>
#include <span>
#include <vector>

#include "sim/drive/by_hand.hpp"
#include "sim/live/live_part.hpp"

namespace tests {

/// Three parts on one clock whose network takes no time.
class LiveTable {
  public:
    explicit LiveTable(const sim::Scenario& scenario) : scenario_(scenario) {
        for (std::size_t p = 0; p < sim::part_count; ++p) {
            parts_[p] = make(static_cast<sim::Part>(p), scenario_, nullptr);
            parts_[p]->start(p + 1, now_);
        }
    }
    sim::PartRecords run() {
        run_until(proto::Instant{} + scenario_.duration);
        for (std::size_t p = 0; p < sim::part_count; ++p) parts_[p]->finish(records_[p]);
        return std::move(records_);
    }
    void run_until(proto::Instant end) {
        for (;;) {
            // deliveries first, then the device's scan, as in one cell
            const auto next = std::min({next_of(1), next_of(2), next_of(0)});
            if (next >= end) break;
            now_ = next;
            for (const std::size_t p : {1U, 2U, 0U})
                if (next_of(p) <= now_) {
                    parts_[p]->do_due(now_);
                    break;
                }
        }
        now_ = end;
    }
    /// The part is ended at `from` and started anew at `until`, while the others go on.
    void restart(sim::Part part, proto::Instant from, proto::Instant until) {
        const auto p = static_cast<std::size_t>(part);
        run_until(from);
        parts_[p]->finish(records_[p]);
        parts_[p].reset();
        run_until(until);
        records_[p].absences.push_back({from, until});
        scenarios_[p] = scenario_;
        if (const auto end = sim::end_of(part))
            scenarios_[p] = sim::with_restarts(scenario_, *end, records_[p].absences);
        parts_[p] = make(part, scenarios_[p], &records_[p]);
        parts_[p]->take_up(records_[p], 77 + p);
    }

  private:
    [[nodiscard]] proto::Instant next_of(std::size_t part) const {
        return parts_[part] ? parts_[part]->next_event() : proto::never;
    }
    /// What is sent to a part that is away is lost.
    void bring(std::size_t part, sim::Direction way, std::span<const std::uint8_t> bytes) {
        if (parts_[part]) parts_[part]->arrive(way, bytes, now_);
    }
    std::unique_ptr<sim::LivePart> make(sim::Part part, const sim::Scenario& scenario, const sim::PartRecord* before) {
        if (part == sim::Part::channel)
            return sim::live_channel(
                scenario, 1,
                [this](sim::End to, std::span<const std::uint8_t> bytes) {
                    bring(to == sim::End::controller ? 0 : 2, {}, bytes);
                },
                before);
        const auto way = part == sim::Part::controller ? sim::Direction::to_device : sim::Direction::to_controller;
        return sim::live_end(scenario, 1, *sim::end_of(part),
                             [this, way](sim::End, std::span<const std::uint8_t> bytes) { bring(1, way, bytes); });
    }

    const sim::Scenario& scenario_;
    proto::Instant now_{};
    std::array<sim::Scenario, sim::part_count> scenarios_;
    std::array<std::unique_ptr<sim::LivePart>, sim::part_count> parts_;
    sim::PartRecords records_;
};

}  // namespace tests
