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
        const auto nothing = [](const Link&) {};
        cross(links, take(links, now, nothing, nothing), now);
        give(links, now, nothing);
    }

    // ---- a scan in its steps, take(), cross() and give(), for who does something between them ----
    /// For each link, due or not: `before` it takes, and when it has `taken`. What they bring that is new: signals.
    template <class Before, class Taken>
    [[nodiscard]] [[gnu::always_inline]] static std::uint64_t take(const std::vector<Link*>& links, proto::Instant now,
                                                                   Before before, Taken taken) {
        std::uint64_t changed = 0;
        // the last one first, and in giving last again: what was used last is still at hand
        for (Link* const* next = links.data() + links.size(); next != links.data();) {
            Link& link = **--next;
            before(link);
            changed |= take_one(link, now);
            taken(link);
        }
        return changed;
    }
    /// What they brought comes to the others.
    static void cross(const std::vector<Link*>& links, std::uint64_t changed, proto::Instant now) {
        if (__builtin_expect(changed != 0, 0)) bring_across(links, now);
    }
    /// For each link, whether it took or not: when it has `given`.
    template <class Given>
    [[gnu::always_inline]] static void give(const std::vector<Link*>& links, proto::Instant now, Given given) {
        for (Link* const link : links) {
            if (link->joined_station().has_to_give()) link->joined_station().give_out(now);
            given(*link);
        }
    }
    /// give() of the scan `now`, and take() of the `next` one: each link does both before another one does, so that its
    /// memory is fetched once. The same as one after the other as long as no link looks at another while it gives, and
    /// nobody hears of several links in one order.
    template <class Before, class Taken>
    [[nodiscard]] [[gnu::always_inline]] static std::uint64_t give_and_take(const std::vector<Link*>& links,
                                                                            proto::Instant now, proto::Instant next,
                                                                            Before before, Taken taken) {
        std::uint64_t changed = 0;
        for (Link* const* one = links.data() + links.size(); one != links.data();) {
            Link& link = **--one;
            if (link.joined_station().has_to_give()) link.joined_station().give_out(now);
            before(link);
            changed |= take_one(link, next);
            taken(link);
        }
        return changed;
    }

  private:
    [[gnu::always_inline]] static std::uint64_t take_one(Link& link, proto::Instant now) {
        auto& station = link.joined_station();
        // somebody's act at this instant may have put it off
        if (station.next_scan() > now) return 0;
        link.scanned();
        const std::uint64_t received = station.received();
        station.take_in(now);
        return station.received() ^ received;
    }
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
