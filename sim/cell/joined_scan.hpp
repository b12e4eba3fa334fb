#pragma once
// One scan of a controller with several links, whoever has the clock: those that are due take, then what they brought
// crosses to the others, then all that are due compute and give.
//
// Link: one of them. It lets this look at
//   joined_station()  its Station at the controller
//   others_bring_     signals, as the other links' controller ends use them
//   scanned()         called for each scan of it
#include <cstddef>
#include <cstdint>
#include <vector>

#include "sim/cell/link_wiring.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "sim/timing/bounds.hpp"

namespace sim {

template <class Link>
class JoinedScan {
  public:
    /// To be called once, before anything runs: what falls in one link is held until another's telegram has carried it.
    static void hold(const WholeCell& cell, const LinkWiring& wiring, const std::vector<Link*>& links) {
        for (std::size_t i = 0; i < links.size(); ++i) {
            const Scenario& alone = cell.links[i].alone;
            const bool stream = alone.controller.link.exchange == proto::Exchange::streaming;
            const proto::Duration in_stream =
                std::max(least_hold(alone, End::controller), alone.device.link.watchdog + alone.controller.link.cycle);
            links[i]->joined_station().hold_until_carried(wiring.passed_on[i], stream ? in_stream : proto::Duration{});
        }
    }
    [[nodiscard]] static proto::Instant next(const std::vector<Link*>& links) {
        proto::Instant next = proto::never;
        for (Link* link : links) next = std::min(next, link->joined_station().next_scan());
        return next;
    }
    static void scan(const std::vector<Link*>& links, proto::Instant now) {
        scan(
            links, now, [](const Link&) {}, [](const Link&) {}, [] {}, [](const Link&) {});
    }
    /// For each link, due or not: `before` it takes, when it has `taken`, and `given`. `all_taken`: once all have
    /// taken.
    template <class Before, class Taken, class AllTaken, class Given>
    [[gnu::always_inline]] static void scan(const std::vector<Link*>& links, proto::Instant now, Before before,
                                            Taken taken, AllTaken all_taken, Given given) {
        Link* const* const all = links.data();
        const std::size_t count = links.size();
        unsigned due = 0;
        std::uint64_t changed = 0;
        // the last one first, and in giving last again: what was used last is still at hand
        for (std::size_t i = count; i-- > 0;) {
            Link& link = *all[i];
            before(link);
            auto& station = link.joined_station();
            // somebody's act at this instant may have put it off
            if (station.next_scan() <= now) {
                due |= 1U << i;
                link.scanned();
                const std::uint64_t received = station.received();
                station.take_in(now);
                changed |= station.received() ^ received;
            }
            taken(link);
        }
        all_taken();
        if (__builtin_expect(changed != 0, 0)) bring_across(links, now);
        for (std::size_t i = 0; i < count; ++i, due >>= 1) {
            Link& link = *all[i];
            if ((due & 1U) != 0) link.joined_station().give_out(now);
            given(link);
        }
    }

  private:
    static void bring_across(const std::vector<Link*>& links, proto::Instant now) {
        for (std::size_t i = 0; i < links.size(); ++i) {
            Link& link = *links[i];
            std::uint64_t others = 0;
            for (std::size_t j = 0; j < links.size(); ++j)
                if (j != i) others |= links[j]->joined_station().received();
            if (others == link.others_bring_ || !link.joined_station().application().uses_elsewhere()) continue;
            link.others_bring_ = others;
            link.joined_station().others_changed(now);
        }
    }
};

}  // namespace sim
