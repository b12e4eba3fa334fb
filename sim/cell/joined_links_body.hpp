#pragma once
// The bodies of several links at one controller: included by the units that make such a cell.
#include <algorithm>
#include <utility>

#include "sim/cell/cell_body.hpp"
#include "sim/cell/joined_links.hpp"
#include "sim/cell/joined_scan.hpp"
#include "sim/scenario/whole_cell.hpp"

namespace sim {

template <class H>
JoinedLinks<H>::JoinedLinks(const WholeCell& cell, std::vector<Cell<H>*> links)
    : links_(std::move(links)),
      wiring_(link_wiring(cell)),
      crossed_(crossed_faults(cell)),
      fell_(links_.size()),
      up_since_(links_.size(), proto::never) {
    for (std::size_t i = 0; i < links_.size(); ++i) {
        const Scenario& alone = cell.links[i].alone;
        on_its_way_ = std::max(on_its_way_, alone.device.link.watchdog * 2 + alone.controller.link.cycle * 2);
        links_[i]->joined_ = this;
        links_[i]->place_ = i;
        for (std::size_t j = i; j-- > 0;) share_settings(links_[i]->channel_, links_[j]->channel_);
    }
    JoinedScan<Cell<H>>::hold(cell, wiring_, links_);
    for (const LinkWiring::PassedValue& passed : wiring_.values)
        links_[passed.link]->controller_.values().pass_on(passed.value, links_[passed.from_link]->controller_.values(),
                                                          passed.from_value);
    if (crossed_.any) let_faults_cross();
}

template <class H>
void JoinedLinks<H>::let_faults_cross() {
    for (std::size_t i = 0; i < links_.size(); ++i) crossings_.emplace_back(*this, i);
    for (std::size_t i = 0; i < links_.size(); ++i) {
        links_[i]->stages_.others = &crossings_[i];
        if (crossed_.overheard[i]) links_[i]->channel_.keep_history();
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
    Soon soon;
    for (Cell<H>* link : links_) soon.look_at(*link);
    while (soon.scan < end) {
        const proto::Instant next = soon.scan;
        if (__builtin_expect(crossed_.any || soon.act <= next, 0)) {
            // a demand asks whether the other links run, as they do before they take
            if (crossed_.any) run_in_order_until(next);
            for (Cell<H>* link : links_) link->run_others_until(next);
            soon = scan_controller(next, end, [](Cell<H>&) {});
        } else {
            soon = scan_controller(
                next, end, [next](Cell<H> & link) __attribute__((always_inline)) { link.run_others_until(next); });
        }
    }
    if (crossed_.any) run_in_order_until(end - Duration{1});
    for (Cell<H>* link : links_) {
        link->run_others_until(end - Duration{1});
        link->deliver_before(end);
        link->run_.now = std::max(link->run_.now, end);
    }
}

template <class H>
[[gnu::noinline]] void JoinedLinks<H>::run_in_order_until(proto::Instant last) {
    for (;;) {
        proto::Instant next = last;
        for (const Cell<H>* link : links_) next = std::min(next, link->next_of_others());
        for (Cell<H>* link : links_) link->run_others_until(next);
        if (next == last) return;
    }
}

template <class H>
const Past* JoinedLinks<H>::Crossing::newest(std::size_t fault, Direction way, Instant now) {
    const std::size_t other = joined_.crossed_.of[own_][fault].link;
    const Channel& channel = joined_.links_[other]->channel_;
    const Past* past = channel.past(0, way, 0, Counting::every);
    // of what is sent in this very instant nobody can say that it was there before
    for (unsigned back = 1; past != nullptr && past->sent >= now; ++back) {
        const Past* const before = channel.past(0, way, back, Counting::every);
        if (before == past) break;  // the same bytes were sent before too
        past = before;
    }
    if (past == nullptr) return nullptr;
    told_ = *past;
    told_.tag.link = static_cast<std::uint8_t>(other_links_from + other) & 0xF;
    return &told_;
}

template <class H>
void JoinedLinks<H>::Crossing::hand_over(std::size_t fault, const Telegram& telegram, const Passage& passage,
                                         Instant since) {
    const CrossedFaults::Other& to = joined_.crossed_.of[own_][fault];
    Cell<H>& link = *joined_.links_[to.link];
    if (link.apart_) return;
    Passage there = passage;
    there.tag.link = static_cast<std::uint8_t>(other_links_from + own_) & 0xF;
    there.tag.injection = static_cast<std::uint32_t>(to.fault + 1) & Tag::injection_max;
    there.to_link = 0;
    there.held = {};
    there.due = std::max(passage.due, passage.sent + Duration{1});
    if (link.channel_.schedule(telegram, there)) link.touched(to.fault, passage.tag.direction, since, passage.sent);
}

template <class H>
template <class Before>
[[gnu::always_inline]] inline typename JoinedLinks<H>::Soon JoinedLinks<H>::scan_controller(proto::Instant now,
                                                                                            proto::Instant end,
                                                                                            Before before) {
    Soon soon;
    const std::uint64_t changed = Scan::take(
        links_, now, before, [&](Cell<H> & link) __attribute__((always_inline)) { soon.look_at(link); });
    come_across(changed, soon.fell, now);
    now = go_straight_on(now, soon, end);
    soon = {};
    Scan::give(
        links_, now, [&](Cell<H> & link) __attribute__((always_inline)) { soon.look_at(link); });
    return soon;
}

/// Scans in which nobody acts, no fault touches anything and no value passes from one link to another: nothing that one
/// link does between two of them is seen by another, so each gives, is moved to the next scan and takes there before
/// the next one gives. A link whose memory is fetched once a scan, not twice, is quicker by far where there are many.
/// All have taken in the scan `now`, and in the end in the one that is returned.
template <class H>
[[gnu::noinline]] proto::Instant JoinedLinks<H>::go_straight_on(proto::Instant now, Soon soon, proto::Instant end) {
    // who hears of telegrams may keep those of several links in one order
    if constexpr (H::template wanted<Sent>) return now;
    if (crossed_.any || !wiring_.values.empty()) return now;
    for (const Cell<H>* link : links_) end = std::min(end, link->untouched_before());
    while (soon.scan < std::min(end, soon.act)) {
        const proto::Instant next = soon.scan;
        soon = {};
        const std::uint64_t changed = Scan::give_and_take(
            links_, now, next, [next](Cell<H> & link) __attribute__((always_inline)) { link.run_others_until(next); },
            [&](Cell<H> & link) __attribute__((always_inline)) { soon.look_at(link); });
        now = next;
        come_across(changed, soon.fell, now);
    }
    return now;
}

template <class H>
void JoinedLinks<H>::come_across(std::uint64_t changed, bool fell, proto::Instant now) {
    if (__builtin_expect(fell || any_fell_, 0)) tell_of_failures(now);
    Scan::cross(links_, changed, now);
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
