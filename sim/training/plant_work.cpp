#include "sim/training/plant_work.hpp"

#include <algorithm>

#include "proto/contract.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

/// The bench runs on by no more than this before what happened is looked at; what comes again does so later.
constexpr Duration looks_every = proto::seconds(1);
/// An end that is typed at is off for so long, and typed at in between.
constexpr Duration typing_off = proto::seconds(10), typed_after = proto::seconds(1);
constexpr Duration off_for = proto::seconds(10);

bool types(Does does) {
    return does == Does::type_sheet || does == Does::type_other || does == Does::raise_watchdog ||
           does == Does::replace_io;
}

/// What is typed at an end and can be typed anew; lengths, profile and bits stay.
bool same_typed(const proto::LinkSettings& a, const proto::LinkSettings& b) {
    return a.own_address == b.own_address && a.peer_address == b.peer_address && a.watchdog == b.watchdog &&
           a.peer_watchdog == b.peer_watchdog && a.reaction == b.reaction && a.error_interval == b.error_interval &&
           a.missing_allowed == b.missing_allowed && a.max_age == b.max_age && a.max_early == b.max_early;
}

proto::LinkSettings typed_from(const proto::LinkSettings& sheet, proto::LinkSettings as_it_is) {
    as_it_is.own_address = sheet.own_address;
    as_it_is.peer_address = sheet.peer_address;
    as_it_is.watchdog = sheet.watchdog;
    as_it_is.peer_watchdog = sheet.peer_watchdog;
    as_it_is.reaction = sheet.reaction;
    as_it_is.error_interval = sheet.error_interval;
    as_it_is.missing_allowed = sheet.missing_allowed;
    as_it_is.max_age = sheet.max_age;
    as_it_is.max_early = sheet.max_early;
    return as_it_is;
}

/// The address that an end is delivered with: our own choice, and never the one that it needs.
std::uint32_t as_delivered(std::uint32_t needed) { return needed == 1 ? 2 : 1; }

bool hangs_on(const Signal& signal, const std::string& guard) {
    const auto has = [&](const std::vector<std::string>& list) {
        return std::find(list.begin(), list.end(), guard) != list.end();
    };
    return has(signal.all_of) || has(signal.any_of);
}

/// The time that an act takes at least, whatever its card says: to do it, and to see what comes of it.
Duration least_time(Does does, std::size_t guards) {
    switch (does) {
        case Does::acknowledge:
        case Does::start: return PlantWork::press_watched;
        case Does::demand: return Duration{PlantWork::between_guards.ns * static_cast<std::int64_t>(guards)};
        case Does::stop_from_motion:
        case Does::watch: return proto::seconds(10);
        default: return types(does) || does == Does::power_cycle ? proto::seconds(15) : Duration{};
    }
}

}  // namespace

PlantWork::PlantWork(const Drill& drill, const std::vector<ActionCard>& cards, Bench& bench)
    : drill_(drill), cards_(cards), bench_(bench), works_of_bench_(bench), off_before_(bench.links() * 2, 0) {}

const Scenario& PlantWork::sheet(std::size_t link) const {
    return drill_.cell_sheet ? drill_.cell_sheet->links[link].alone : drill_.link_sheet;
}

bool PlantWork::is_the_mend(const std::string& id) const {
    return std::any_of(drill_.needed.begin(), drill_.needed.end(), [&](const Needed& needed) {
        return needed.id == id || std::find(needed.others.begin(), needed.others.end(), id) != needed.others.end();
    });
}

std::size_t PlantWork::meant_link() const { return drill_.cell ? drill_.in_question : 0; }

void PlantWork::due(Instant at, Due::What what, std::size_t number) {
    const auto later = [](const Due& a, const Due& b) { return a.at < b.at; };
    const Due one{at, what, number};
    dues_.insert(std::upper_bound(dues_.begin(), dues_.end(), one, later), one);
}

void PlantWork::begin(std::size_t card_index, std::optional<std::size_t> link) {
    proto::require(!busy() && works_.size() < works_max, "PlantWork::begin() while something is under way");
    Work work;
    work.card = card_index;
    work.link = link;
    work.begun = bench_.now();
    const ActionCard& what = cards_[card_index];
    work.until = work.begun + std::max(what.takes, least_time(what.does, bench_.scenario().safeguards.size()));
    works_.push_back(std::move(work));
    here_ = what.place;
    tools_in_ = tools_in_ || what.hands;
    begin_at_plant();
    due(works_.back().until, Due::What::finish);
    run_until(bench_.now());
}

void PlantWork::begin_at_plant() {
    Work& work = works_.back();
    const Instant now = bench_.now();
    switch (card().does) {
        case Does::acknowledge: press_acknowledge(work); break;
        case Does::start: start(work); break;
        case Does::demand:
            for (std::size_t i = 0; i < bench_.scenario().safeguards.size(); ++i) {
                const Instant at = now + Duration{between_guards.ns * static_cast<std::int64_t>(i)};
                due(at, Due::What::demand, i);
                due(at + proto::seconds(1), Due::What::look, i);
                due(at + Bench::test_lasting + proto::seconds(1), Due::What::reset, i);
            }
            break;
        case Does::stop_from_motion:
            work.effect = bench_.machine_moves() ? WorkEffect::ran_on : WorkEffect::stood;
            if (bench_.machine_moves()) bench_.demand(0);
            break;
        case Does::power_cycle:
            for (std::size_t i = 0; i < bench_.links(); ++i)
                for (const End end : {End::controller, End::device}) works_of_bench_.switch_off(i, end, off_for);
            break;
        case Does::restart_way:
            for (std::size_t i = 0; i < bench_.links(); ++i) works_of_bench_.restart_way(i, off_for);
            break;
        default:
            if (types(card().does)) begin_typing();
    }
}

// ---- typing ----

std::optional<proto::LinkSettings> PlantWork::meant_for(std::size_t link, End end) const {
    const Scenario& as_it_is = bench_.of_link(link).scenario();
    const proto::LinkSettings& here = as_it_is.end(end).link;
    proto::LinkSettings meant = here;
    const proto::LinkSettings& device = as_it_is.device.link;
    switch (card().does) {
        case Does::type_sheet: meant = typed_from(sheet(link).end(end).link, here); break;
        case Does::type_other:
            if (end == End::device || link != meant_link()) return std::nullopt;
            meant.peer_address = device.own_address;
            meant.peer_watchdog = device.watchdog;
            meant.watchdog = device.peer_watchdog;
            break;
        case Does::raise_watchdog:
            meant.watchdog = Duration{meant.watchdog.ns * 2};
            meant.peer_watchdog = Duration{meant.peer_watchdog.ns * 2};
            break;
        case Does::replace_io:
            if (end == End::controller || link != meant_link()) return std::nullopt;
            meant.own_address = as_delivered(sheet(link).device.link.own_address);
            break;
        default: return std::nullopt;
    }
    return same_typed(meant, here) ? std::nullopt : std::optional(meant);
}

void PlantWork::begin_typing() {
    for (std::size_t i = 0; i < bench_.links(); ++i)
        for (const End end : {End::controller, End::device})
            if (meant_for(i, end)) {
                works_of_bench_.switch_off(i, end, typing_off);
                due(bench_.now() + typed_after, Due::What::type, i * 2 + static_cast<std::size_t>(end));
            }
}

void PlantWork::type(std::size_t link, End end) {
    const auto meant = meant_for(link, end);
    if (meant && works_of_bench_.type_at(link, end, *meant)) works_.back().effect = WorkEffect::typed;
}

// ---- buttons ----

void PlantWork::press_acknowledge(Work& work) {
    const bool asked = work.link ? bench_.of_link(*work.link).panel(End::controller).asks_for_acknowledgement
                                 : bench_.asks_for_acknowledgement();
    bench_.acknowledge(work.link);
    const BenchEvent* const last = bench_.events().empty() ? nullptr : &bench_.events().back();
    const bool stuck = last != nullptr && last->kind == BenchEvent::Kind::contact_stuck && last->at == bench_.now();
    work.effect = stuck ? WorkEffect::contact_stuck : asked ? WorkEffect::acknowledged : WorkEffect::not_asked;
}

void PlantWork::start(Work& work) {
    work.refusal = bench_.start_machine(work.link);
    work.effect = work.refusal ? WorkEffect::not_started : WorkEffect::started;
}

// ---- guards ----

void PlantWork::demand(std::size_t guard) {
    GuardTried tried;
    tried.guard = guard;
    tried.was_latched = bench_.plant().safeguard(guard).latched();
    const std::string& name = bench_.scenario().safeguards[guard].name;
    bool hangs = false;
    tried.was_off = true;
    for (std::size_t l = 0; l < bench_.links(); ++l) {
        const Bench& link = bench_.of_link(l);
        off_before_[l * 2] = off_before_[l * 2 + 1] = 0;
        const std::vector<SignalShown> shown = link.signals();
        for (std::size_t i = 0; i < shown.size(); ++i) {
            if (!shown[i].sent) off_before_[l * 2] |= std::uint64_t{1} << i;
            if (!shown[i].used) off_before_[l * 2 + 1] |= std::uint64_t{1} << i;
        }
        if (!link.reads_guard(guard)) continue;
        for (const Signal& signal : link.scenario().signals) {
            if (signal.elsewhere || !hangs_on(signal, name)) continue;
            const auto is = [&](const SignalShown& one) { return one.name == signal.name; };
            const auto found = std::find_if(shown.begin(), shown.end(), is);
            if (found == shown.end()) continue;
            hangs = true;
            tried.was_off = tried.was_off && (!found->sent || !found->used);
        }
    }
    tried.was_off = tried.was_off && hangs;
    works_.back().tried.push_back(tried);
    bench_.demand(guard);
}

void PlantWork::look_at(std::size_t guard) {
    GuardTried& tried = works_.back().tried.back();
    const std::string& name = bench_.scenario().safeguards[guard].name;
    bool hangs = false;
    tried.fell_sent = tried.fell_used = true;
    for (std::size_t l = 0; l < bench_.links(); ++l) {
        const Bench& link = bench_.of_link(l);
        if (!link.reads_guard(guard)) continue;
        const std::vector<SignalShown> shown = link.signals();
        const End reads = link.scenario().safeguards[guard].at;
        for (std::size_t i = 0; i < shown.size(); ++i) {
            const auto of = [&](const Signal& signal) { return signal.name == shown[i].name; };
            const auto& all = link.scenario().signals;
            const auto signal = std::find_if(all.begin(), all.end(), of);
            if (signal == all.end() || sender(signal->direction) != reads) continue;
            const bool before_used = (off_before_[l * 2 + 1] >> i & 1) == 0;
            if (hangs_on(*signal, name)) {
                // one of several that did not fall is one too many
                tried.fell_sent = tried.fell_sent && !shown[i].sent;
                tried.fell_used = tried.fell_used && !shown[i].used && !shown[i].substitute;
                hangs = true;
            } else if (before_used && !shown[i].used && !shown[i].substitute) {
                tried.others_fell = true;
            }
        }
    }
    tried.fell_sent = tried.fell_sent && hangs;
    tried.fell_used = tried.fell_used && hangs;
}

void PlantWork::act(const Due& due) {
    switch (due.what) {
        case Due::What::finish: finish(); return;
        case Due::What::demand: demand(due.number); return;
        case Due::What::look: look_at(due.number); return;
        case Due::What::reset:
            // whoever pulled it resets it; what somebody else latched stays
            if (!works_.back().tried.back().was_latched) bench_.reset(due.number);
            return;
        case Due::What::type: type(due.number / 2, static_cast<End>(due.number % 2)); return;
        case Due::What::come_again:
            comes_again_ = false;
            if (mended_) return;
            for (std::size_t i = 0; i < bench_.links(); ++i) works_of_bench_.bring_back(i);
            returned_.push_back(bench_.now());
            return;
    }
}

void PlantWork::look_for_acknowledgement(Instant since) {
    if (!drill_.returns_after || mended_ || comes_again_) return;
    for (std::size_t i = 0; i < bench_.links(); ++i) {
        if (!works_of_bench_.has_passed(i)) continue;
        const auto& events = bench_.of_link(i).events();
        for (auto event = events.rbegin(); event != events.rend() && event->at >= since; ++event) {
            if (event->kind != BenchEvent::Kind::acknowledged) continue;
            comes_again_ = true;
            due(event->at + *drill_.returns_after, Due::What::come_again);
            return;
        }
    }
}

void PlantWork::run_until(Instant end) {
    while (true) {
        const Instant since = bench_.now();
        Instant next = std::min(end, since + looks_every);
        if (!dues_.empty()) next = std::min(next, dues_.front().at);
        if (next > since) bench_.run_until(next);
        look_for_acknowledgement(since);
        while (!dues_.empty() && dues_.front().at <= bench_.now()) {
            const Due due = dues_.front();
            dues_.pop_front();
            act(due);
        }
        if (bench_.now() >= end) return;
    }
}

}  // namespace sim
