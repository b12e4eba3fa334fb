#pragma once
// The bodies of several links at one controller: included by the units that make such a cell.
#include <algorithm>
#include <utility>

#include "sim/cell/cell_body.hpp"
#include "sim/cell/joined_links.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "sim/timing/bounds.hpp"

namespace sim {

template <class H>
JoinedLinks<H>::JoinedLinks(const WholeCell& cell, std::vector<Cell<H>*> links)
    : links_(std::move(links)),
      wiring_(link_wiring(cell)),
      fell_(links_.size()),
      up_since_(links_.size(), proto::never) {
    for (std::size_t i = 0; i < links_.size(); ++i) {
        const Scenario& alone = cell.links[i].alone;
        const bool stream = alone.controller.link.exchange == proto::Exchange::streaming;
        const Duration in_stream =
            std::max(least_hold(alone, End::controller), alone.device.link.watchdog + alone.controller.link.cycle);
        on_its_way_ = std::max(on_its_way_, alone.device.link.watchdog * 2 + alone.controller.link.cycle * 2);
        links_[i]->joined_ = this;
        links_[i]->place_ = i;
        links_[i]->controller_.hold_until_carried(wiring_.passed_on[i], stream ? in_stream : Duration{});
    }
}

template <class H>
void JoinedLinks<H>::begin_again() {
    any_fell_ = false;
    fell_.assign(links_.size(), false);
    up_since_.assign(links_.size(), proto::never);
    for (Cell<H>* link : links_) link->others_bring_ = 0;
}

template <class H>
void JoinedLinks<H>::run_until(proto::Instant end) {
    for (;;) {
        proto::Instant next = proto::never;
        for (const Cell<H>* link : links_) next = std::min(next, link->controller_.next_scan());
        if (next >= end) break;
        for (Cell<H>* link : links_) link->run_others_until(next);
        scan_controller(next);
    }
    for (Cell<H>* link : links_) {
        link->run_others_until(end - Duration{1});
        link->deliver_before(end);
        link->run_.now = std::max(link->run_.now, end);
    }
}

/// Those that are due take, then the values cross, then all that are due compute and give.
template <class H>
[[gnu::always_inline]] inline void JoinedLinks<H>::scan_controller(proto::Instant now) {
    unsigned due = 0;
    bool changed = false, fell = any_fell_;
    for (std::size_t i = 0; i < links_.size(); ++i) {
        Cell<H>& link = *links_[i];
        fell = fell || link.run_.fell;
        // somebody's act at this instant may have put it off
        if (link.controller_.next_scan() > now) continue;
        due |= 1U << i;
        ++link.run_.cycles;
        const std::uint64_t before = link.controller_.received();
        link.controller_.take_in(now);
        changed = changed || link.controller_.received() != before;
        fell = fell || link.run_.fell;
    }
    if (__builtin_expect(fell, 0)) tell_of_failures(now);
    if (__builtin_expect(changed, 0)) bring_across(now);
    for (std::size_t i = 0; i < links_.size(); ++i)
        if ((due >> i & 1U) != 0) links_[i]->controller_.give_out(now);
}

template <class H>
void JoinedLinks<H>::bring_across(proto::Instant now) {
    for (std::size_t i = 0; i < links_.size(); ++i) {
        Cell<H>& link = *links_[i];
        std::uint64_t others = 0;
        for (std::size_t j = 0; j < links_.size(); ++j)
            if (j != i) others |= links_[j]->controller_.received();
        if (others == link.others_bring_ || !link.controller_.application().uses_elsewhere()) continue;
        link.others_bring_ = others;
        link.controller_.others_changed(now);
    }
}

/// After a failure of a link that it depends on, a machine's speed does not come back by itself.
template <class H>
void JoinedLinks<H>::tell_of_failures(proto::Instant now) {
    any_fell_ = false;
    for (std::size_t j = 0; j < links_.size(); ++j) {
        if (std::exchange(links_[j]->run_.fell, false)) fell_[j] = true;
        if (!fell_[j]) continue;
        any_fell_ = true;
        // its substitutes are under way for as long as the longest link may take them
        if (links_[j]->link().running() && up_since_[j] == proto::never) up_since_[j] = now;
        if (!links_[j]->link().running()) up_since_[j] = proto::never;
        if (up_since_[j] != proto::never && now > up_since_[j] + on_its_way_) fell_[j] = false;
        for (std::size_t i = 0; i < links_.size(); ++i)
            if (i != j && (wiring_.hangs_on[i] >> j & 1U) != 0) links_[i]->plant_.output_failed();
    }
}

template <class H>
proto::Instant JoinedLinks<H>::now() const {
    return links_.front()->now();
}

template <class H>
bool JoinedLinks<H>::running() const {
    return std::all_of(links_.begin(), links_.end(), [](const Cell<H>* link) { return link->link().running(); });
}

template <class H>
bool JoinedLinks<H>::way_runs(std::size_t link, std::size_t safeguard) const {
    const std::uint32_t crossed = wiring_.crosses[link][safeguard];
    for (std::size_t i = 0; i < links_.size(); ++i)
        if ((crossed >> i & 1U) != 0 && !links_[i]->link().running()) return false;
    return true;
}

}  // namespace sim
