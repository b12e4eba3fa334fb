#pragma once
// Several links at one controller in virtual time. Each is a Cell of its own, with the machine and the guards as its
// end of the plant has them; what joins them is the controller: in one scan it takes from all links that are due,
// computes with what every link brought, and sends on those links.
//
// Between two scans of the controller nothing passes from one link to another, so each is moved by itself up to the
// next of them.
//
// H: who hears in each link. Bodies in joined_links_body.hpp.
#include <cstddef>
#include <cstdint>
#include <vector>

#include "sim/cell/cell.hpp"
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
    [[nodiscard]] bool way_runs(std::size_t link, std::size_t safeguard) const override;
    void scan_controller(proto::Instant now);
    void bring_across(proto::Instant now);
    void tell_of_failures(proto::Instant now);

    std::vector<Cell<H>*> links_;
    LinkWiring wiring_;
    bool any_fell_ = false;
    std::vector<bool> fell_;                ///< by link: it stopped, and what hangs on it may still learn of it
    std::vector<proto::Instant> up_since_;  ///< since it stopped last
    Duration on_its_way_{};                 ///< from the controller to any machine, at most
};

}  // namespace sim
