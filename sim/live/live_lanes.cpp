// Several links moved by one part of a live cell.
#include <utility>

#include "sim/cell/joined_scan.hpp"
#include "sim/cell/link_wiring.hpp"
#include "sim/live/live_end.hpp"
#include "sim/live/live_part.hpp"

namespace sim {
namespace {

class LiveController final : public LiveLanes {
  public:
    using Link = LiveEnd<End::controller>;
    LiveController(const WholeCell& cell, const std::vector<Scenario>& links, const std::vector<std::uint64_t>& seeds,
                   std::vector<LivePart::Send> sends) {
        for (std::size_t i = 0; i < links.size(); ++i) {
            owned_.push_back(std::make_unique<Link>(links[i], seeds[i], std::move(sends[i])));
            owned_.back()->join();
            links_.push_back(owned_.back().get());
        }
        JoinedScan<Link>::hold(cell, link_wiring(cell), links_);
    }
    [[nodiscard]] std::size_t size() const override { return owned_.size(); }
    [[nodiscard]] LivePart& lane(std::size_t index) override { return *owned_[index]; }
    Duration do_due(Instant now) override {
        for (Link* link : links_) link->act_until(now);
        const Instant due = JoinedScan<Link>::next(links_);
        if (due > now) return {};
        JoinedScan<Link>::scan(links_, now);
        return now - due;
    }

  private:
    std::vector<std::unique_ptr<Link>> owned_;
    std::vector<Link*> links_;
};

class Lanes final : public LiveLanes {
  public:
    explicit Lanes(std::vector<std::unique_ptr<LivePart>> lanes) : lanes_(std::move(lanes)) {}
    [[nodiscard]] std::size_t size() const override { return lanes_.size(); }
    [[nodiscard]] LivePart& lane(std::size_t index) override { return *lanes_[index]; }
    Duration do_due(Instant now) override {
        LivePart* first = lanes_.front().get();
        for (const auto& lane : lanes_)
            if (lane->next_event() < first->next_event()) first = lane.get();
        return first->next_event() <= now ? first->do_due(now) : Duration{};
    }

  private:
    std::vector<std::unique_ptr<LivePart>> lanes_;
};

}  // namespace

std::unique_ptr<LiveLanes> live_controller(const WholeCell& cell, const std::vector<Scenario>& links,
                                           const std::vector<std::uint64_t>& seeds, std::vector<LivePart::Send> sends) {
    return std::make_unique<LiveController>(cell, links, seeds, std::move(sends));
}

std::unique_ptr<LiveLanes> live_lanes(std::vector<std::unique_ptr<LivePart>> lanes) {
    return std::make_unique<Lanes>(std::move(lanes));
}

}  // namespace sim
