#pragma once
// A live cell without sockets: its parts moved step by step, each by a clock of its own if need be.
#include <algorithm>
#include <cstddef>
#include <memory>
#include <span>
#include <vector>

#include "sim/drive/cell_rehearsal.hpp"
#include "sim/drive/join_cell.hpp"
#include "sim/live/live_part.hpp"
#include "sim/scenario/whole_cell.hpp"

namespace tests {

/// The controller, the channel, then the devices, on a network that takes no time.
class LiveCellTable {
  public:
    /// `begins`: by part, when its run begins, by the time of the whole; what is missing begins at 0.
    LiveCellTable(const sim::WholeCell& cell, std::uint64_t seed, std::vector<proto::Duration> begins = {})
        : cell_(cell), begins_(std::move(begins)), records_(cell.links.size()) {
        begins_.resize(2 + cell.links.size());
        for (std::size_t i = 0; i < cell.links.size(); ++i) {
            scenarios_.push_back(sim::in_cell(cell, i));
            seeds_.push_back(sim::seed_of_link(seed, i));
        }
        std::vector<sim::LivePart::Send> sends;
        for (std::size_t i = 0; i < cell.links.size(); ++i) sends.push_back(to_channel(i, sim::Direction::to_device));
        parts_.push_back(sim::live_controller(cell, scenarios_, seeds_, std::move(sends)));
        std::vector<std::unique_ptr<sim::LivePart>> channels;
        for (std::size_t i = 0; i < cell.links.size(); ++i)
            channels.push_back(sim::live_channel(scenarios_[i], seeds_[i],
                                                 [this, i](sim::End to, std::span<const std::uint8_t> bytes) {
                                                     const bool out = to == sim::End::device;
                                                     arrive(out ? 2 + i : 0, out ? 0 : i, {}, bytes);
                                                 }));
        parts_.push_back(sim::live_lanes(std::move(channels)));
        for (std::size_t i = 0; i < cell.links.size(); ++i) {
            std::vector<std::unique_ptr<sim::LivePart>> end;
            end.push_back(sim::live_end(scenarios_[i], seeds_[i], sim::End::device,
                                        to_channel(i, sim::Direction::to_controller)));
            parts_.push_back(sim::live_lanes(std::move(end)));
        }
        for (std::size_t p = 0; p < parts_.size(); ++p)
            for (std::size_t i = 0; i < parts_[p]->size(); ++i)
                parts_[p]->lane(i).start(1000 * seed + 10 * p + i + 1, {});
    }
    sim::CellRecords run() {
        // what comes late on its own clock still lies within its run
        const proto::Instant end = proto::Instant{} + cell_.duration + proto::seconds(1);
        for (;;) {
            std::size_t first = 0;
            for (std::size_t p = 0; p < parts_.size(); ++p)
                if (rank(p) < rank(first)) first = p;
            if (next_of(first) >= end) break;
            now_ = next_of(first);
            parts_[first]->do_due(now_ - begins_[first]);
        }
        for (std::size_t i = 0; i < cell_.links.size(); ++i) {
            parts_[0]->lane(i).finish(records_[i][0]);
            parts_[1]->lane(i).finish(records_[i][1]);
            parts_[2 + i]->lane(0).finish(records_[i][2]);
        }
        return std::move(records_);
    }

  private:
    [[nodiscard]] proto::Instant next_of(std::size_t part) const { return parts_[part]->next_event() + begins_[part]; }
    /// Deliveries first, then the devices' scans, the controller's last, as in virtual time.
    [[nodiscard]] std::pair<std::int64_t, std::size_t> rank(std::size_t part) const {
        return {next_of(part).ns, part == 1 ? 0 : part == 0 ? parts_.size() : part};
    }
    void arrive(std::size_t part, std::size_t lane, sim::Direction way, std::span<const std::uint8_t> bytes) {
        if (now_ >= proto::Instant{} + begins_[part]) parts_[part]->lane(lane).arrive(way, bytes, now_ - begins_[part]);
    }
    sim::LivePart::Send to_channel(std::size_t link, sim::Direction way) {
        return [this, link, way](sim::End, std::span<const std::uint8_t> bytes) { arrive(1, link, way, bytes); };
    }

    const sim::WholeCell& cell_;
    std::vector<proto::Duration> begins_;
    std::vector<sim::Scenario> scenarios_;
    std::vector<std::uint64_t> seeds_;
    std::vector<std::unique_ptr<sim::LiveLanes>> parts_;
    sim::CellRecords records_;
    proto::Instant now_{};
};

}  // namespace tests
