#include "sim/studies/cell_worst_seen.hpp"

#include <algorithm>
#include <atomic>
#include <utility>

#include "sim/drive/joined_run.hpp"
#include "sim/numeric/random.hpp"
#include "sim/scenario/units.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "sim/studies/shared_search.hpp"
#include "sim/timing/bounds.hpp"
#include "sim/timing/cell_ways.hpp"
#include "sim/timing/response.hpp"
#include "sim/timing/way_of_demand.hpp"

namespace sim {
namespace {

constexpr std::uint64_t run_seed = 1;  // delays are fixed and nothing is lost by chance

/// The links on the way alone, without what the search does not need.
class Bench {
  public:
    Bench(const WholeCell& cell, std::size_t machine_link, const std::string& safeguard) {
        for (const WayOverLink& way : way_over_links(cell, machine_link, safeguard))
            if (std::find(links_.begin(), links_.end(), way.link) == links_.end()) links_.push_back(way.link);
        cell_ = cell;
        cell_.links.clear();
        for (const std::size_t link : links_) cell_.links.push_back(cell.links[link]);
        for (std::size_t& signal : cell_.signals) signal = renumbered(signal);
        for (auto& at : cell_.safeguards)
            if (at) at = renumbered(*at) < links_.size() ? std::optional(renumbered(*at)) : std::nullopt;
        for (CellLink& link : cell_.links) strip(link.alone, safeguard);
        share_ = true;
        for (const std::size_t a : links_)
            for (const std::size_t b : links_) share_ = share_ && cell.share_a_segment(a, b);
        machine_ = renumbered(machine_link);
        Duration longest{};
        for (const CellLink& link : cell_.links)
            longest = longest + std::max(link.alone.controller.link.watchdog, link.alone.device.link.watchdog) * 3 +
                      link.alone.controller.link.cycle * 4;
        start_ = proto::milliseconds(300) + longest;
        end_ = start_ + longest * 3 + proto::milliseconds(100);
        for (CellLink& link : cell_.links) link.alone.duration = end_;
    }

    [[nodiscard]] const std::vector<std::size_t>& links() const { return links_; }

    /// Two links that share nothing are not disturbed by one episode.
    [[nodiscard]] std::vector<LinkPlacing> drawn(const Random& random, std::uint64_t& next) const {
        std::vector<LinkPlacing> placing;
        const std::uint64_t which =
            random.below(next++, share_ && links_.size() > 1 ? links_.size() + 2 : links_.size());
        Duration base{};
        for (std::size_t i = 0; i < links_.size(); ++i) {
            const Scenario& alone = cell_.links[i].alone;
            const auto up_to = [&](Duration most) {
                return Duration{static_cast<std::int64_t>(
                    random.below(next++, static_cast<std::uint64_t>(std::max<std::int64_t>(most.ns, 1))))};
            };
            const Duration watchdog = std::max(alone.controller.link.watchdog, alone.device.link.watchdog);
            LinkPlacing one;
            one.phase = up_to(alone.device.link.scan);
            one.disturbed = which == i || which >= links_.size();
            one.begin = base - up_to(watchdog + alone.controller.link.cycle);
            one.extra = up_to(watchdog);
            one.silence = one.begin + up_to(watchdog * 2);
            // the next link's episode matters when what this one brings has come through
            base = base + (one.disturbed ? watchdog * 2 - up_to(alone.controller.link.cycle) : Duration{});
            placing.push_back(one);
        }
        return placing;
    }

    /// About as wide as a part of the watchdogs.
    void move(std::vector<LinkPlacing>& placing, const Random& random, std::uint64_t& next, unsigned shift) const {
        for (std::size_t i = 0; i < placing.size(); ++i) {
            const Scenario& alone = cell_.links[i].alone;
            const std::int64_t reach = std::max<std::int64_t>(alone.controller.link.watchdog.ns >> shift, 1000);
            for (Duration LinkPlacing::*part : {&LinkPlacing::begin, &LinkPlacing::extra, &LinkPlacing::silence})
                if (random.below(next++, 2) == 0)
                    (placing[i].*part).ns +=
                        static_cast<std::int64_t>(random.below(next++, static_cast<std::uint64_t>(2 * reach))) - reach;
            placing[i].extra = std::max(placing[i].extra, Duration{});
            placing[i].silence = std::max(placing[i].silence, placing[i].begin);
            const std::int64_t scan = alone.device.link.scan.ns;
            if (random.below(next++, 4) == 0)
                placing[i].phase.ns = static_cast<std::int64_t>(random.below(next++, static_cast<std::uint64_t>(scan)));
        }
    }

    [[nodiscard]] std::optional<Duration> response(const std::vector<LinkPlacing>& placing) const {
        WholeCell cell = cell_;
        for (std::size_t i = 0; i < placing.size(); ++i) {
            Scenario& alone = cell.links[i].alone;
            alone.device_phase = placing[i].phase;
            for (Demand& demand : alone.demands) demand.at = start_;
            if (placing[i].disturbed) alone.faults = episode(placing[i]);
        }
        const JoinedRun run(cell, run_seed, Faults::all, {});
        run.joined->run_until(Instant{} + end_);
        const std::vector<DemandResult> seen = run.links[machine_]->observer.demands_until(Instant{} + end_);
        return seen.empty() ? std::nullopt : seen.front().response;
    }

    /// Undisturbed, every link of the way runs when the demand comes: outputs that are off anyway are no response.
    [[nodiscard]] bool starts() const {
        const JoinedRun run(cell_, run_seed, Faults::none, {});
        run.joined->run_until(Instant{} + start_);
        return run.joined->running();
    }

  private:
    [[nodiscard]] std::size_t renumbered(std::size_t link) const {
        return static_cast<std::size_t>(std::find(links_.begin(), links_.end(), link) - links_.begin());
    }

    void strip(Scenario& alone, const std::string& safeguard) const {
        alone.faults.clear();
        alone.neighbour.reset();
        alone.functions_elsewhere.clear();
        std::erase_if(alone.operator_acts,
                      [](const OperatorAct& act) { return act.event == OperatorAct::Event::time; });
        for (Safeguard& guard : alone.safeguards)
            if (guard.name == safeguard) guard.delay = {};  // the sensor's time is outside the links
        for (ChannelSettings* channel : {&alone.to_device, &alone.to_controller}) {
            const Duration longest = longest_of(channel->delay);
            *channel = ChannelSettings{};
            channel->delay = {DelayShape::Kind::constant, longest, longest, {}};
        }
        const bool judged = alone.machine && !longest_way(alone, safeguard).empty();
        alone.demands = {{.safeguard = safeguard, .at = {}, .lasting = proto::seconds(7200), .where = {}}};
        alone.demands.front().elsewhere = !judged;
    }

    [[nodiscard]] std::vector<Fault> episode(const LinkPlacing& placing) const {
        Fault late;
        late.way = FaultWay::step;
        late.error = ErrorKind::delay;
        late.to_device = late.to_controller = true;
        late.at = start_ + placing.begin;
        late.lasting = end_;
        late.extra = placing.extra;
        Fault lost = late;
        lost.way = FaultWay::drop;
        lost.error = ErrorKind::loss;
        lost.at = start_ + placing.silence;
        lost.extra = {};
        if (placing.extra == Duration{}) return {lost};
        return {late, lost};
    }

    std::vector<std::size_t> links_;
    WholeCell cell_;
    std::size_t machine_ = 0;
    bool share_ = true;
    Duration start_{}, end_{};
};

struct Tried {
    std::vector<LinkPlacing> placing;
    std::optional<Duration> response;
    [[nodiscard]] std::int64_t ns() const { return response ? response->ns : -1; }
};

}  // namespace

CellWorstSeen search_worst(const WholeCell& cell, std::size_t machine_link, const std::string& safeguard,
                           const SearchEffort& effort) {
    const Bench bench(cell, machine_link, safeguard);
    CellWorstSeen found;
    found.links = bench.links();
    constexpr std::uint64_t climbers = 16;
    const std::uint64_t scattered = std::max<std::uint64_t>(effort.placings / 2, climbers);
    const std::uint64_t steps = std::max<std::uint64_t>(effort.placings / 2 / climbers, 1);
    const std::vector<LinkPlacing> calm(found.links.size());
    const std::optional<Duration> undisturbed = bench.starts() ? bench.response(calm) : std::nullopt;
    if (!undisturbed) return found;

    std::atomic<std::uint64_t> done{0};
    std::atomic<bool> never{false};
    const auto evaluate = [&](Tried& tried) {
        tried.response = bench.response(tried.placing);
        if (!tried.response) never = true;
        if (const std::uint64_t now = ++done; effort.progress) effort.progress(now, effort.placings);
    };
    std::vector<Tried> all(scattered);
    share_parts(effort.jobs, scattered, cell.file, run_seed, [&](std::uint64_t i) {
        std::uint64_t next = 0;
        all[i].placing = bench.drawn(Random(run_seed, Concern::trial, i), next);
        evaluate(all[i]);
    });
    // the worst first; of equals the one tried first, so that threads do not matter
    std::stable_sort(all.begin(), all.end(), [](const Tried& a, const Tried& b) { return a.ns() > b.ns(); });
    all.resize(std::min<std::uint64_t>(all.size(), climbers));
    share_parts(effort.jobs, all.size(), cell.file, run_seed, [&](std::uint64_t i) {
        const Random random(run_seed, Concern::trial, scattered + i);
        std::uint64_t next = 0;
        for (std::uint64_t step = 0; step < steps; ++step) {
            Tried moved = all[i];
            bench.move(moved.placing, random, next, static_cast<unsigned>(2 + step * 10 / steps));
            evaluate(moved);
            if (moved.ns() >= all[i].ns()) all[i] = std::move(moved);
        }
    });
    const auto worst =
        std::max_element(all.begin(), all.end(), [](const Tried& a, const Tried& b) { return a.ns() < b.ns(); });
    const bool calm_is_worst = !worst->response || *worst->response < *undisturbed;
    found.response = calm_is_worst ? undisturbed : worst->response;
    found.placing = calm_is_worst ? calm : worst->placing;
    found.tried = done;
    found.never = never;
    return found;
}

std::string words_of(const WholeCell& cell, const CellWorstSeen& seen) {
    const auto when = [](Duration at) {
        const Duration rounded{(at.ns < 0 ? -at.ns : at.ns) / 100'000 * 100'000};
        return written(rounded) + (at.ns < 0 ? " before the demand" : " after it");
    };
    std::string words;
    for (std::size_t i = 0; i < seen.placing.size(); ++i) {
        const LinkPlacing& one = seen.placing[i];
        if (!one.disturbed) continue;
        words += (words.empty() ? "" : "; ") + ("link " + cell.links[seen.links[i]].name) + " late by " +
                 written(Duration{one.extra.ns / 100'000 * 100'000}) + " from " + when(one.begin) + ", silent from " +
                 when(one.silence);
    }
    return words.empty() ? "nothing disturbed" : words;
}

}  // namespace sim
