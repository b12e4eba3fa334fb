#pragma once
// Several links at one controller in virtual time. Each is a Cell of its own, with the machine and the guards as its
// end of the plant has them; what joins them is the controller: in one scan it takes from all links that are due,
// computes with what every link brought, and sends on those links.
//
// Between two scans of the controller nothing passes from one link to another, so each is moved by itself up to the
// next of them; and as long as nobody acts and no fault touches anything, it sends, moves and takes again before
// another link does, since with eight of them each comes back to memory that the others have driven out of the cache.
// Where a fault brings telegrams of one link to another, all are moved in the order of time instead, event by event,
// and what crosses arrives after the instant in which it was sent: so nothing depends on which link is moved first, and
// nothing comes sooner or later than on wires that touch.
//
// H: who hears in each link. Bodies in joined_links_body.hpp.
#include <cstddef>
#include <cstdint>
#include <vector>

#include "sim/cell/cell.hpp"
#include "sim/cell/crossed_faults.hpp"
#include "sim/cell/joined_scan.hpp"
#include "sim/cell/link_wiring.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {

struct WholeCell;

template <class H>
class JoinedLinks final : private LinksBeside {
  public:
    /// `links`: one for each of the cell's, in their order, at the beginning of their run. All must outlive this.
    JoinedLinks(const WholeCell& cell, std::vector<Cell<H>*> links);
    JoinedLinks(const JoinedLinks&) = delete;
    JoinedLinks& operator=(const JoinedLinks&) = delete;
    ~JoinedLinks() = default;

    /// As if made anew, with links that each began again.
    void begin_again();
    /// Runs every event before `end`.
    void run_until(proto::Instant end);
    [[nodiscard]] proto::Instant now() const;
    /// Both ends of every link.
    [[nodiscard]] bool running() const;
    [[nodiscard]] const LinkWiring& wiring() const { return wiring_; }

  private:
    /// What the faults of one link ask of the others.
    class Crossing final : public OtherLinks {
      public:
        Crossing(JoinedLinks& joined, std::size_t own) : joined_(joined), own_(own) {}
        [[nodiscard]] const Past* newest(std::size_t fault, Direction way, Instant now) override;
        void hand_over(std::size_t fault, const Telegram& telegram, const Passage& passage, Instant since) override;

      private:
        JoinedLinks& joined_;
        std::size_t own_;
        Past told_;
    };

    [[nodiscard]] bool way_runs(std::size_t link, std::size_t safeguard) const override;
    using Scan = JoinedScan<Cell<H>>;
    /// When the controller scans next, and when somebody acts next: people, or an end that fails.
    struct Soon {
        proto::Instant scan = proto::never;
        proto::Instant act = proto::never;
        bool fell = false;  ///< a link did since the scan before
        [[gnu::always_inline]] void look_at(Cell<H>& link) {
            scan = std::min(scan, link.joined_station().next_scan());
            act = std::min(act, link.acts_.agenda().next());
            fell |= link.run_.fell;
        }
    };
    /// `before`: what is done with each link before it takes. Goes on with the scans after it, up to `end`, as long as
    /// each link can be moved from one to the next by itself.
    template <class Before>
    Soon scan_controller(proto::Instant now, proto::Instant end, Before before);
    proto::Instant go_straight_on(proto::Instant now, Soon soon, proto::Instant end);
    void come_across(std::uint64_t changed, bool fell, proto::Instant now);
    void tell_of_failures(proto::Instant now);
    /// Everything but scans of the controller, up to and at `last`, in the order of time over all links.
    void run_in_order_until(proto::Instant last);
    void let_faults_cross();

    std::vector<Cell<H>*> links_;
    LinkWiring wiring_;
    CrossedFaults crossed_;
    std::vector<Crossing> crossings_;  ///< by link; none where no fault crosses
    bool any_fell_ = false;
    std::vector<bool> fell_;                ///< by link: it stopped, and what hangs on it may still learn of it
    std::vector<proto::Instant> up_since_;  ///< since it stopped last
    Duration on_its_way_{};                 ///< from the controller to any machine, at most
};

}  // namespace sim
