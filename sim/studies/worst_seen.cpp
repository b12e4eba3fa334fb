#include "sim/studies/worst_seen.hpp"

#include <algorithm>
#include <array>
#include <atomic>
#include <vector>

#include "sim/drive/judged_run.hpp"
#include "sim/numeric/random.hpp"
#include "sim/scenario/contract_context.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/studies/shared_search.hpp"
#include "sim/timing/bounds.hpp"
#include "sim/timing/response.hpp"

namespace sim {
namespace {

constexpr Duration forever = proto::seconds(7200);
constexpr std::uint64_t run_seed = 1;  // nothing is drawn: no losses, and delays that are fixed

Duration larger(Duration a, Duration b) { return std::max(a, b); }

/// A scenario stripped of everything that the search does not need, and what follows from it once.
class Bench {
  public:
    explicit Bench(const Scenario& scenario) : scenario_(scenario), guard_(response_of(scenario).safeguard) {
        scenario_.faults.clear();
        scenario_.demands.clear();
        scenario_.operator_acts.clear();
        scenario_.neighbour.reset();
        for (ChannelSettings* channel : {&scenario_.to_device, &scenario_.to_controller}) {
            shortest_.push_back(shortest_of(channel->delay));
            longest_.push_back(longest_of(channel->delay));
            *channel = ChannelSettings{};
        }
        for (Safeguard& safeguard : scenario_.safeguards)
            if (safeguard.name == guard_) safeguard.delay = {};  // the sensor's time is outside the link
        hops_ = hops_of(scenario_, guard_).size();
        const proto::LinkSettings &c = scenario_.controller.link, &d = scenario_.device.link;
        period_ = larger(c.scan, d.scan);
        watchdog_ = larger(c.watchdog, d.watchdog);
        exchange_ = c.scan + d.scan + longest_[0] + longest_[1];
        main_ = scenario_.machine && scenario_.machine->at == End::controller ? Direction::to_controller
                                                                              : Direction::to_device;
        may_creep_ = c.exchange == proto::Exchange::polled || c.max_lag || c.profile.time_stamp_bits != 0;
        // up to where a limit on the age sees it, if there is one
        const std::optional<Duration> bound = bound_of(scenario_, main_);
        const std::int64_t span = (watchdog_ + period_).ns;
        creeping_most_ = std::clamp<std::int64_t>(bound ? bound->ns / span + 1 : 3, 1, 8);
        start_ = find_start();
    }

    [[nodiscard]] const std::string& file() const { return scenario_.file; }
    [[nodiscard]] bool starts() const { return start_.has_value(); }
    /// A demand without any fault gets to the output.
    [[nodiscard]] bool reaches() const {
        Placing calm;
        calm.late_out = false;
        calm.silence_out = calm.silence_back = watchdog_ * 3 + exchange_ * 4;
        const Seen found = seen(calm);
        return !found.never && found.time <= calm.silence_out;
    }

    struct Seen {
        Duration time{};
        bool never = false;
    };
    [[nodiscard]] Seen seen(const Placing& p) const {
        Scenario s = scenario_;
        set_delays(s, p.longest_delays);
        s.device_phase = p.phase;
        const Duration base = *start_;
        Fault late;
        late.error = ErrorKind::delay;
        late.way = FaultWay::step;
        late.at = base + p.begin;
        late.lasting = larger(p.lasting, proto::microseconds(1));
        late.extra = p.extra;
        if (p.creeps) {
            late.way = FaultWay::creeping;
            late.extra = in_a_second(p.extra, *late.lasting);
            late.lasting = forever;
        }
        if (p.late_out || p.late_back) {
            late.to_device = p.late_out;
            late.to_controller = p.late_back;
            if (p.extra > Duration{}) s.faults.push_back(late);
        }
        for (const Direction direction : {Direction::to_device, Direction::to_controller}) {
            Fault drop;
            drop.error = ErrorKind::loss;
            drop.way = FaultWay::drop;
            drop.at = base + (direction == Direction::to_device ? p.silence_out : p.silence_back);
            drop.lasting = forever;
            drop.to_device = direction == Direction::to_device;
            drop.to_controller = direction == Direction::to_controller;
            s.faults.push_back(drop);
        }
        if (hops_ > 0)
            s.demands.push_back({.safeguard = guard_, .at = base + p.demand, .lasting = forever, .where = {}});

        const Limits limits = limits_for(s);
        JudgedRun run(s, run_seed, Faults::all, limits);
        const Instant demand = Instant{} + base + p.demand;
        const Duration last = std::max({p.demand, p.silence_out, p.silence_back});
        // Nothing is accepted any more once everything late has arrived; then the watchdogs, there and back.
        const Instant end =
            Instant{} + base + last + p.extra * (p.creeps ? 2 : 1) + watchdog_ * 3 + period_ * 6 + exchange_;
        run.cell.run_until(end);
        const Observer& observer = run.observer;
        Seen found;
        if (hops_ > 0) {
            found.time = observer.worst(main_).demand;
            found.never = run.cell.plant().demand_open();
            if (found.never) found.time = end - demand;
        }
        if (hops_ <= 1) found.time = larger(found.time, observer.worst(main_).age);
        return found;
    }

    /// Coordinates of a placing, each in its range; 0 is the lowest value.
    static constexpr std::size_t times = 7;
    [[nodiscard]] std::array<Duration, times> ranges() const {
        return {scenario_.device.link.scan - proto::microseconds(1),  // phase
                exchange_ + period_,                                  // begin
                watchdog_,                                            // lasting
                watchdog_ + period_,                                  // extra
                watchdog_ + period_ * 2,                              // silence out, from the begin
                watchdog_ + period_ * 2,                              // silence back
                period_ * 4 + exchange_};                             // demand, from 2 periods before the begin
    }
    /// How telegrams become late: 0 to 2 at once, on the way out, back, or both; 3 to 5 by creeping, unless nothing in
    /// a stream sees that: then its bound holds for as long as the declared delay does, and check says so.
    [[nodiscard]] unsigned kinds() const { return may_creep_ ? 6 : 3; }
    [[nodiscard]] Placing placing(const std::array<Duration, times>& at, unsigned kind, bool longest) const {
        Placing p;
        p.phase = at[0];
        p.longest_delays = longest;
        p.late_out = kind % 3 != 1;
        p.late_back = kind % 3 != 0;
        p.creeps = kind >= 3;
        p.begin = period_ * 3 + at[1];
        // what creeps stays within the watchdog from one telegram to the next, and so gets later than any step can
        p.lasting = p.creeps ? at[2] * 8 + period_ * 4 : at[2];
        p.extra = p.creeps ? at[3] * creeping_most_ : at[3];
        const Duration fully = p.creeps ? p.begin + p.lasting : p.begin;
        p.silence_out = fully + at[4];
        p.silence_back = fully + at[5];
        p.demand = fully - period_ * 2 + at[6];
        return p;
    }

  private:
    static Duration in_a_second(Duration extra, Duration over) {
        constexpr double second = 1e9;
        return {static_cast<std::int64_t>(static_cast<double>(extra.ns) * second / static_cast<double>(over.ns))};
    }
    void set_delays(Scenario& s, bool longest) const {
        const auto& delays = longest ? longest_ : shortest_;
        s.to_device.delay.low = s.to_device.delay.high = delays[0];
        s.to_controller.delay.low = s.to_controller.delay.high = delays[1];
    }
    [[nodiscard]] static Limits limits_for(const Scenario& s) {
        Limits limits;
        limits.required = {forever, forever};
        limits.demand_required = forever;
        limits.settle = forever;
        limits.allowed.resize(s.faults.size());
        return limits;
    }
    /// After a start that may need several attempts, whatever the phase: nothing if the ends disagree.
    [[nodiscard]] std::optional<Duration> find_start() const {
        Duration latest{};
        for (const std::int64_t eighth : {0, 3, 6}) {
            Scenario s = scenario_;
            set_delays(s, true);
            s.device_phase = {s.device.link.scan.ns * eighth / 8};
            JudgedRun run(s, run_seed, Faults::none, limits_for(s));
            JudgedCell& cell = run.cell;
            const Instant give_up = Instant{} + (period_ + exchange_) * 100;
            while (!cell.link().running() && cell.now() < give_up) cell.run_until(cell.now() + period_);
            if (!cell.link().running()) return std::nullopt;
            latest = larger(latest, cell.now() - Instant{});
        }
        return latest + (exchange_ + period_) * 3;
    }

    Scenario scenario_;
    std::string guard_;
    std::vector<Duration> shortest_, longest_;
    std::size_t hops_ = 0;
    Duration period_{}, watchdog_{}, exchange_{};
    bool may_creep_ = true;
    std::int64_t creeping_most_ = 1;  ///< times as late as a step at most
    Direction main_ = Direction::to_device;
    std::optional<Duration> start_;
};

using Point = std::array<Duration, Bench::times>;

/// One placing in the search.
struct Candidate {
    Point at{};
    unsigned kind = 0;  ///< see Bench::kinds()
    bool longest = true;
    Duration seen{};
    bool never = false;
};

class Search {
  public:
    Search(const Bench& bench, const SearchEffort& effort) : bench_(bench), effort_(effort), ranges_(bench.ranges()) {
        const std::uint64_t all = std::max<std::uint64_t>(effort.placings, 100);
        scattered_ = all / 3;
        climbers_ = std::clamp<std::uint64_t>(all / 400, 4, 64);
        steps_ = (all - scattered_) / climbers_;
        total_ = scattered_ + climbers_ * steps_;
    }

    WorstSeen run() {
        std::vector<Candidate> found(scattered_);
        in_parallel(scattered_, [&](std::uint64_t i) { found[i] = scatter(i); });
        // The worst first; of equals the one tried first, so that threads do not matter.
        std::stable_sort(found.begin(), found.end(),
                         [](const Candidate& a, const Candidate& b) { return a.seen > b.seen; });
        found.resize(std::min<std::size_t>(found.size(), climbers_));
        in_parallel(found.size(), [&](std::uint64_t i) { climb(found[i], i); });
        const auto worst = std::max_element(found.begin(), found.end(),
                                            [](const Candidate& a, const Candidate& b) { return a.seen < b.seen; });
        return {.link = worst->seen,
                .placing = bench_.placing(worst->at, worst->kind, worst->longest),
                .tried = done_.load(),
                .link_started = true,
                .never = worst->never};
    }

  private:
    void evaluate(Candidate& candidate) {
        const Bench::Seen seen = bench_.seen(bench_.placing(candidate.at, candidate.kind, candidate.longest));
        candidate.seen = seen.time;
        candidate.never = seen.never;
        const std::uint64_t done = ++done_;
        if (effort_.progress && done % 64 == 0) effort_.progress(done, total_);
    }

    Candidate scatter(std::uint64_t i) {
        const Random random(i, Concern::trial);
        Candidate c;
        for (std::size_t k = 0; k < Bench::times; ++k) c.at[k] = on_grid(random.at(k), k);
        c.kind = static_cast<unsigned>(random.below(20, 3)) + (bench_.kinds() > 3 && random.below(22, 3) == 0 ? 3 : 0);
        c.longest = random.below(21, 4) != 0;
        // Half of them as the worst is known to look: lateness near the watchdog, then silence soon.
        if (i % 2 == 0) {
            c.at[3] = {ranges_[3].ns / 2 + c.at[3].ns / 2};
            c.at[4] = {c.at[4].ns / 4};
            c.at[5] = {c.at[5].ns / 4};
        }
        evaluate(c);
        return c;
    }

    /// One of 65 values of the range, that is a coarse grid.
    [[nodiscard]] Duration on_grid(std::uint64_t draw, std::size_t k) const {
        return {static_cast<std::int64_t>(scale(draw, 65)) * (ranges_[k].ns / 64)};
    }

    /// Moves a placing about by less and less, and stays where it is no better: many placings give the same time, since
    /// scans lie on a grid.
    void climb(Candidate& best, std::uint64_t climber) {
        const Random random(climber, Concern::phase);
        std::uint64_t drawn = 0;
        for (std::uint64_t step = 0; step < steps_; ++step) {
            Candidate next = best;
            // From an eighth of the range down to a two-thousandth.
            const unsigned shift = 3 + static_cast<unsigned>(step * 9 / std::max<std::uint64_t>(steps_, 1));
            const std::uint64_t changes = 1 + random.below(drawn++, 3);
            for (std::uint64_t change = 0; change < changes; ++change) {
                const std::size_t k = random.below(drawn++, Bench::times);
                const std::int64_t reach = std::max<std::int64_t>(ranges_[k].ns >> shift, 1000);
                const auto moved =
                    static_cast<std::int64_t>(random.below(drawn++, static_cast<std::uint64_t>(2 * reach + 1)));
                next.at[k].ns = std::clamp(next.at[k].ns + moved - reach, std::int64_t{0}, ranges_[k].ns);
            }
            if (random.below(drawn++, 16) == 0)
                next.kind = static_cast<unsigned>(random.below(drawn++, bench_.kinds()));
            if (random.below(drawn++, 16) == 0) next.longest = !next.longest;
            evaluate(next);
            if (next.seen >= best.seen) best = next;
        }
    }

    template <class Work>
    void in_parallel(std::uint64_t count, const Work& work) {
        share_parts(effort_.jobs, count, bench_.file(), run_seed, work);
    }

    const Bench& bench_;
    const SearchEffort& effort_;
    Point ranges_;
    std::uint64_t scattered_ = 0, climbers_ = 0, steps_ = 0, total_ = 0;
    std::atomic<std::uint64_t> done_{0};
};

}  // namespace

WorstSeen search_worst(const Scenario& scenario, const SearchEffort& effort) {
    const ContractContext context(scenario.file, run_seed);
    const Bench bench(scenario);
    if (!bench.starts()) return {};
    if (!bench.reaches()) return {.placing = {}, .link_started = true, .reaches = false};
    return Search(bench, effort).run();
}

Duration seen_with(const Scenario& scenario, const Placing& placing) {
    const ContractContext context(scenario.file, run_seed);
    const Bench bench(scenario);
    return bench.starts() ? bench.seen(placing).time : Duration{};
}

std::string words_of(const Placing& p) {
    const auto rounded = [](Duration d) { return written(Duration{d.ns / 100'000 * 100'000}); };
    const std::string way = p.late_out && p.late_back ? "both ways" : p.late_out ? "on the way out" : "on the way back";
    std::string text;
    if (p.extra > Duration{} && p.lasting >= Duration{}) {
        text = "telegrams " + way + (p.creeps ? " later and later, by " : " late by ") + rounded(p.extra) +
               (p.creeps ? " in " + rounded(p.lasting) : "") + ", begun ";
        text += p.demand >= p.begin ? rounded(p.demand - p.begin) + " before" : rounded(p.begin - p.demand) + " after";
        text += " the demand, and then nothing";
    } else {
        text = "nothing comes any more";
    }
    return text;
}

}  // namespace sim
