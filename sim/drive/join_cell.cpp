#include "sim/drive/join_cell.hpp"

#include <algorithm>
#include <limits>
#include <memory>
#include <utility>
#include <variant>

#include "sim/cell/link_wiring.hpp"
#include "sim/drive/cell_gathered.hpp"
#include "sim/drive/cell_rehearsal.hpp"
#include "sim/drive/cell_verdict.hpp"
#include "sim/drive/limits.hpp"
#include "sim/drive/replayed_link.hpp"
#include "sim/drive/verdict.hpp"
#include "sim/scenario/whole_cell.hpp"

namespace sim {
namespace {

/// One link of it, with those who hear in it.
struct CellLinkReplay {
    Scenario scenario;  ///< as it is in the cell
    ScenarioLimits limits;
    FarStops far;
    ReplayedLink link;
    std::vector<std::optional<Event>> demands;  ///< of guards read elsewhere: what the controller wrote down of each

    CellLinkReplay(const WholeCell& cell, std::size_t i, const PartRecords& parts, const Witnesses& witnesses)
        : scenario(in_cell(cell, i)),
          limits(limits_in_cell(cell, i)),
          far(scenario),
          link(scenario, limits, parts, witnesses, &far),
          demands(scenario.demands.size()) {}
};

struct CellMoment {
    std::size_t link;
    Moment moment;
};

/// What an event tells of a guard's contact.
struct OfContact {
    std::size_t safeguard = 0;
    std::optional<std::size_t> demand;  ///< else only that it turned
};

class CellReplay {
  public:
    CellReplay(const WholeCell& cell, const CellRecords& parts, const std::vector<Witnesses>& witnesses)
        : cell_(cell), wiring_(link_wiring(cell)) {
        std::vector<FarStops*> fars;
        for (std::size_t i = 0; i < cell.links.size(); ++i) {
            links_.push_back(
                std::make_unique<CellLinkReplay>(cell, i, parts[i], witnesses.empty() ? Witnesses{} : witnesses[i]));
            fars.push_back(&links_.back()->far);
        }
        tell_each_other(wiring_, fars);
    }
    [[nodiscard]] bool belong_together() const {
        return std::ranges::all_of(links_, [](const auto& one) { return one->link.belong_together(); });
    }
    void run();
    CellResult result(std::uint64_t seed);

  private:
    void one_clock_at_controller();
    void note_demands(const std::vector<CellMoment>& moments);
    void hear(const CellMoment& one);
    void tell_of_contact(const CellMoment& one, const Event& event, const OfContact& of);
    [[nodiscard]] Event with_ways(std::size_t link, Event event) const;
    [[nodiscard]] std::optional<OfContact> of_contact(std::size_t link, const Event& event) const;

    const WholeCell& cell_;
    LinkWiring wiring_;
    std::vector<std::unique_ptr<CellLinkReplay>> links_;
};

/// The controller's records are of one clock: what all links say of it together is the nearest.
void CellReplay::one_clock_at_controller() {
    ClockOffset common;
    for (const auto& one : links_) {
        const ClockOffset& known = one->link.offset(Part::controller);
        common.least = std::max(common.least, known.least);
        common.most = std::min(common.most, known.most);
    }
    for (const auto& one : links_) one->link.offset(Part::controller) = common;
}

std::optional<OfContact> CellReplay::of_contact(std::size_t link, const Event& event) const {
    const Scenario& scenario = links_[link]->scenario;
    const auto of_demand = [&](std::size_t demand) {
        return OfContact{scenario.place_of(scenario.demands[demand].safeguard), demand};
    };
    if (const auto* demanded = std::get_if<Demanded>(&event)) return of_demand(demanded->demand);
    if (const auto* demanded = std::get_if<DemandedElsewhere>(&event)) return of_demand(demanded->demand);
    if (const auto* contacted = std::get_if<Contacted>(&event)) return OfContact{contacted->safeguard, std::nullopt};
    return std::nullopt;
}

void CellReplay::note_demands(const std::vector<CellMoment>& moments) {
    for (const CellMoment& one : moments) {
        CellLinkReplay& link = *links_[one.link];
        const Event& event = link.link.event(one.moment);
        const std::optional<OfContact> of = of_contact(one.link, event);
        if (one.moment.part == Part::controller && of && of->demand) link.demands[*of->demand] = event;
    }
}

void CellReplay::run() {
    one_clock_at_controller();
    std::vector<CellMoment> moments;
    for (std::size_t i = 0; i < links_.size(); ++i)
        for (const Moment& moment : links_[i]->link.in_order()) moments.push_back({i, moment});
    std::stable_sort(moments.begin(), moments.end(),
                     [](const CellMoment& a, const CellMoment& b) { return a.moment.at < b.moment.at; });
    note_demands(moments);
    const Instant end = Instant{} + cell_.duration;
    for (const CellMoment& one : moments) {
        if (Instant{one.moment.at} >= end) break;
        hear(one);
    }
}

/// Only all links together know whether those on a demand's way run.
Event CellReplay::with_ways(std::size_t link, Event event) const {
    auto* const demanded = std::get_if<Demanded>(&event);
    if (demanded == nullptr) return event;
    const Scenario& scenario = links_[link]->scenario;
    const std::uint32_t crossed =
        wiring_.crosses[link][scenario.place_of(scenario.demands[demanded->demand].safeguard)];
    for (std::size_t i = 0; i < links_.size(); ++i)
        if ((crossed >> i & 1U) != 0 && !links_[i]->link.running()) demanded->way_runs = false;
    return event;
}

void CellReplay::hear(const CellMoment& one) {
    const Event& event = links_[one.link]->link.event(one.moment);
    const std::optional<OfContact> of = of_contact(one.link, event);
    const std::optional<std::size_t> read_at = of ? cell_.safeguards[of->safeguard] : std::nullopt;
    // every end of a link says when a demand on the controller's own guards should have come; the controller knows
    if (of && !read_at && one.moment.part != Part::controller) return;
    if (!of || !read_at) return links_[one.link]->link.hear(with_ways(one.link, event), one.moment);
    // a guard at a device: the other links' controllers only know when it should have been
    if (*read_at == one.link && one.moment.part == Part::device) tell_of_contact(one, event, *of);
}

void CellReplay::tell_of_contact(const CellMoment& one, const Event& event, const OfContact& of) {
    for (std::size_t i = 0; i < links_.size(); ++i) {
        if (i == one.link || !of.demand)
            links_[i]->link.hear(with_ways(i, event), one.moment);
        else if (const std::optional<Event>& noted = links_[i]->demands[*of.demand])
            links_[i]->link.hear(with_ways(i, *noted), one.moment);
    }
}

CellResult CellReplay::result(std::uint64_t seed) {
    CellResult result;
    result.seed = seed;
    result.live = true;
    std::vector<const DemandTrail*> trails;
    std::vector<const FarStops*> fars;
    for (const auto& one : links_) {
        result.links.push_back(one->link.result(seed));
        result.cycles += result.links.back().cycles;
        trails.push_back(&one->link.trail());
        fars.push_back(&one->far);
        const std::vector<std::int64_t>& late = result.links.back().lateness.sorted_ns;
        result.lateness.sorted_ns.insert(result.lateness.sorted_ns.end(), late.begin(), late.end());
    }
    std::sort(result.lateness.sorted_ns.begin(), result.lateness.sorted_ns.end());
    // what happens without faults, and whether the links come back once nobody is left to acknowledge, is rehearsed
    const CellResult rehearsed = rehearse_cell(cell_, seed);
    for (std::size_t i = 0; i < links_.size(); ++i) result.links[i].twin = rehearsed.links[i].twin;
    result.twin_trips = rehearsed.twin_trips;
    result.recovered = rehearsed.recovered;
    result.why_not_recovered = rehearsed.why_not_recovered;
    gather_demands(cell_, trails, result);
    result.far_stops = far_stops(wiring_, fars, Instant{} + cell_.duration);
    for (std::size_t i = 0; i < links_.size(); ++i) conclude(links_[i]->scenario, links_[i]->limits, result.links[i]);
    conclude_cell(cell_, result);
    return result;
}

}  // namespace

std::optional<CellResult> join_cell(const WholeCell& cell, std::uint64_t seed, const CellRecords& parts,
                                    Together together, const std::vector<Witnesses>& witnesses) {
    CellReplay replay(cell, parts, witnesses);
    if (together == Together::if_they_match && !replay.belong_together()) return std::nullopt;
    replay.run();
    return replay.result(seed);
}

}  // namespace sim
