#include "sim/drive/endurance.hpp"

#include <algorithm>
#include <atomic>
#include <chrono>
#include <condition_variable>
#include <deque>
#include <mutex>
#include <numeric>
#include <optional>
#include <thread>
#include <utility>

#include "proto/contract.hpp"
#include "sim/channel/quiet_telegrams.hpp"
#include "sim/drive/limits.hpp"
#include "sim/link/world.hpp"
#include "sim/numeric/portable_math.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

constexpr std::int64_t cycles_per_period_most = 64;
/// Periods of the scans that a period of the exchange may take (an answer that misses a scan makes it two).
constexpr std::size_t exchange_periods_most = 16;
/// With more strange telegrams than that jumps are not worth it.
constexpr double strange_most = 0.25;
/// Rough costs on one processor of today, for estimates only.
constexpr double seconds_per_cycle = 200e-9;
constexpr double seconds_per_window = 6e-6;
constexpr double seconds_per_year = 365.25 * 86400.0;
/// A link that does not run by then never will.
constexpr Duration start_at_most = proto::seconds(600);

Scenario without_faults(const Scenario& scenario) {
    Scenario bare = scenario;
    bare.faults.clear();
    bare.demands.clear();
    return bare;
}

ScanGrid scans_of(const Scenario& scenario, End end) {
    return {scenario.end(end).link.scan, end == End::controller ? Duration{} : scenario.device_phase};
}

/// After how long the scans of both ends, and with them the steps of time stamps, repeat; nothing if that is too long.
std::optional<Duration> period_of(const Scenario& scenario) {
    const std::int64_t cycle = scenario.controller.link.scan.ns;
    const auto with = [&](std::optional<std::int64_t> so_far, std::int64_t other) -> std::optional<std::int64_t> {
        if (!so_far) return std::nullopt;
        const std::int64_t times = other / std::gcd(*so_far, other);
        if (times > cycles_per_period_most || *so_far * times > cycle * cycles_per_period_most) return std::nullopt;
        return *so_far * times;
    };
    std::optional<std::int64_t> period = with(cycle, scenario.device.link.scan.ns);
    for (const End end : {End::controller, End::device}) {
        const proto::Profile& profile = scenario.end(end).link.profile;
        if (profile.time_stamp_bits != 0) period = with(period, profile.time_stamp_unit.ns);
    }
    if (!period) return std::nullopt;
    return Duration{*period};
}

std::optional<QuietTelegrams> quiet_of(const Scenario& scenario, Direction direction, Duration period,
                                       std::uint64_t seed) {
    const proto::LinkSettings& link = scenario.end(sender(direction)).link;
    const auto layout = proto::layout_of(link.profile, link.payload_sent);
    proto::require(layout.ok(), "endurance of an impossible profile");
    return QuietTelegrams::make(direction == Direction::to_device ? scenario.to_device : scenario.to_controller,
                                scans_of(scenario, sender(direction)), scans_of(scenario, receiver(direction)), period,
                                layout.value().total_bytes * 8,
                                Random(seed, Concern::jump, static_cast<std::uint64_t>(direction)));
}

/// -log(1 - p) without cancellation; 0 <= p < 1.
double rarity(double p) {
    if (p > 1e-3) return -portable_log(1.0 - p);
    return p * (1.0 + p * (1.0 / 2 + p * (1.0 / 3 + p * (1.0 / 4 + p * (1.0 / 5)))));
}

/// Counters whose growth tells a period.
struct Totals {
    std::uint64_t accepted, repeats, sent, others;
    static Totals of(const proto::Endpoint& endpoint) {
        const proto::Counters& c = endpoint.counters();
        return {c.accepted, c.repeats, c.sent,
                std::accumulate(c.rejected.begin(), c.rejected.end(), c.ignored + c.queue_full)};
    }
};

/// How everything was at the end of a period of the scans.
struct Mark {
    std::uint64_t standing = 0;
    std::array<Totals, 2> totals{};
    std::uint64_t cycles = 0;
    std::uint64_t dangerous = 0;
    std::array<std::vector<std::uint16_t>, 2> places;  ///< of what was sent since the mark before
};

class Part {
  public:
    Part(const Scenario& scenario, const Limits& limits, std::uint64_t seed, std::optional<Duration> period)
        : world_(scenario, seed, WithFaults::no, limits), draws_(seed, Concern::jump, 2), period_(period) {
        if (!period_) return;
        auto out = quiet_of(scenario, Direction::to_device, *period_, seed);
        auto back = quiet_of(scenario, Direction::to_controller, *period_, seed);
        proto::require(out && back, "jumps over telegrams that are never alike");
        world_.channel().foresee(std::move(*out), std::move(*back));
    }

    /// Runs until `end`; false if it was told to stop, or if the link never runs.
    template <class GoOn>
    bool run(Instant end, Duration step, GoOn go_on) {
        const Duration stride = period_.value_or(step);
        for (std::uint64_t n = 0; world_.now() < end; ++n) {
            const Instant before = world_.now();
            const Instant next = std::min(before + stride, end);
            world_.run_until(next);
            note(before);
            if (!started_ && world_.now() - Instant{} > start_at_most) return false;
            if (period_ && next < end) try_jump(end);
            if (n % 256 == 0 && !go_on(world_.now())) return false;
        }
        return true;
    }

    void tell(EnduranceResult& result) {
        RunResult seen;
        world_.finish(seen, world_.now());
        const Observer& observer = world_.observer();
        for (const End end : {End::controller, End::device}) {
            const auto i = static_cast<std::size_t>(end);
            const SpuriousTrips& trips = observer.spurious_trips(end);
            result.trips[i].by_watchdog += trips.by_watchdog;
            result.trips[i].by_rejection += trips.by_rejection;
            const auto& rejected = world_.endpoint(end).counters().rejected;
            for (std::size_t m = 0; m < rejected.size(); ++m) result.rejected[i][m] += rejected[m];
        }
        result.seconds += static_cast<double>(world_.now().ns) * 1e-9;
        result.cycles += world_.cycles();
        result.cycles_in_full += world_.cycles() - cycles_passed_;
        result.windows += windows_;
        result.acknowledgements += seen.acknowledgements;
        result.seconds_stopped += static_cast<double>(stopped_.ns) * 1e-9;
        result.dangerous += observer.dangerous_events();
        if (result.first_dangerous.empty()) result.first_dangerous = std::move(seen.dangerous);
        result.link_started = result.link_started && started_;
        result.digest = scramble(result.digest ^ seen.digest);
        ++result.parts_done;
    }

  private:
    void note(Instant since) {
        if (world_.running())
            started_ = true;
        else
            stopped_ = stopped_ + (world_.now() - since);
    }

    void try_jump(Instant end) {
        Channel& channel = world_.channel();
        const bool quiet = channel.strange() == strange_;
        strange_ = channel.strange();
        std::optional<std::uint64_t> standing;
        if (quiet) standing = world_.standing();
        if (!standing) {
            marks_ = 0;
            channel.forget_places();
            return;
        }
        // the new mark overwrites the oldest: a ring whose vectors keep their room
        newest_ = (newest_ + 1) % ring_.size();
        Mark& mark = ring_[newest_];
        mark.standing = *standing;
        mark.totals = {Totals::of(world_.endpoint(End::controller)), Totals::of(world_.endpoint(End::device))};
        mark.cycles = world_.cycles();
        mark.dangerous = world_.observer().dangerous_events();
        for (const Direction direction : {Direction::to_device, Direction::to_controller})
            mark.places[static_cast<std::size_t>(direction)] = channel.places(direction);
        channel.forget_places();
        marks_ = std::min(marks_ + 1, ring_.size());
        for (std::size_t back = 1; back < marks_; ++back) {
            if (mark_at(back).standing != mark.standing) continue;
            if (jump(back, end)) marks_ = 0;
            return;
        }
    }

    [[nodiscard]] const Mark& mark_at(std::size_t back) const {
        return ring_[(newest_ + ring_.size() - back) % ring_.size()];
    }

    /// The last `back` periods of the scans are one of the exchange: passes over as many as nothing happens in.
    bool jump(std::size_t back, Instant end) {
        const Mark& now = mark_at(0);
        const Mark& before = mark_at(back);
        World::Period period;
        const Duration lasting = *period_ * static_cast<std::int64_t>(back);
        for (std::size_t i = 0; i < 2; ++i) {
            const Totals& a = before.totals[i];
            const Totals& b = now.totals[i];
            if (a.others != b.others) return false;
            period.ends[i] = {lasting, b.accepted - a.accepted, b.repeats - a.repeats, b.sent - a.sent};
        }
        if (now.dangerous != before.dangerous) return false;  // each of these is to be counted
        period.cycles = now.cycles - before.cycles;

        // the telegrams of a period, first all of one way and then all of the other, each way in order
        telegrams_.clear();
        double rare = 0.0;
        for (const Direction direction : {Direction::to_device, Direction::to_controller}) {
            const auto way = static_cast<std::size_t>(direction);
            const QuietTelegrams& quiet = world_.channel().quiet(direction);
            for (std::size_t k = back; k-- > 0;) {
                const std::vector<std::uint16_t>& places = mark_at(k).places[way];
                for (std::size_t i = 0; i < places.size(); ++i) {
                    if (!quiet.keeps_order() && i > 0 && places[i] == places[i - 1]) return false;
                    const double strange = quiet.strange(places[i]);
                    if (strange >= 1.0) return false;
                    rare += rarity(strange);
                    telegrams_.push_back({direction, period.telegrams[way]++, strange});
                }
            }
        }

        const Instant until = std::min(end, world_.next_act());
        const std::int64_t most = (until - world_.now()).ns / lasting.ns;
        if (most <= 0) return false;
        // P(at least n quiet periods) = exp(-n rare)
        const double even = (static_cast<double>(draws_.at(made_++)) + 1.0) * 0x1p-64;
        const double gap = rare > 0.0 ? -portable_log(even) / rare : static_cast<double>(most);
        if (gap >= static_cast<double>(most)) {
            pass(static_cast<std::uint64_t>(most), period);
            foretell(telegrams_.size(), Channel::Then::as_drawn);
            return true;
        }
        if (gap >= 1.0) pass(static_cast<std::uint64_t>(gap), period);
        foretell(first_strange(), Channel::Then::strange);
        ++windows_;
        return true;
    }

    /// Which of the telegrams of a period is the first strange one, given that one is.
    std::size_t first_strange() {
        any_.assign(telegrams_.size() + 1, 0.0);
        for (std::size_t i = telegrams_.size(); i-- > 0;)
            any_[i] = telegrams_[i].strange + (1.0 - telegrams_[i].strange) * any_[i + 1];
        std::size_t i = 0;
        while (static_cast<double>(draws_.at(made_++) >> 11) * 0x1p-53 * any_[i] >= telegrams_[i].strange) ++i;
        return i;
    }

    /// Telegram `strange` of the coming period is strange, those before it in the list are not.
    void foretell(std::size_t strange, Channel::Then then) {
        std::array<std::uint64_t, 2> ordinary{};
        const bool some = then == Channel::Then::strange;
        if (some)
            for (std::size_t i = 0; i < strange; ++i) ++ordinary[static_cast<std::size_t>(telegrams_[i].direction)];
        for (const Direction direction : {Direction::to_device, Direction::to_controller})
            world_.channel().foretell(
                direction, ordinary[static_cast<std::size_t>(direction)],
                some && telegrams_[strange].direction == direction ? then : Channel::Then::as_drawn);
    }

    void pass(std::uint64_t periods, const World::Period& period) {
        world_.skip(periods, period);
        cycles_passed_ += periods * period.cycles;
        if (!world_.running()) stopped_ = stopped_ + period.ends[0].lasting * static_cast<std::int64_t>(periods);
    }

    /// One telegram of a period.
    struct Sent {
        Direction direction;
        std::uint64_t number;  ///< of its way
        double strange;
    };

    World world_;
    Random draws_;
    std::uint64_t made_ = 0;
    std::optional<Duration> period_;  ///< of the scans; nothing: the event loop
    std::array<Mark, exchange_periods_most + 1> ring_;
    std::size_t newest_ = 0;
    std::size_t marks_ = 0;  ///< in the ring, without anything strange since the oldest of them
    std::uint64_t strange_ = 0;
    std::vector<Sent> telegrams_;
    std::vector<double> any_;
    std::uint64_t windows_ = 0, cycles_passed_ = 0;
    Duration stopped_{};
    bool started_ = false;
};

struct Shared {
    std::atomic<std::uint64_t> next{0};
    std::atomic<std::uint64_t> milliseconds{0};  ///< simulated
    std::atomic<bool> stop{false};
    std::atomic<unsigned> working{0};
    std::mutex mutex;
    std::condition_variable ended;
    std::deque<std::optional<EnduranceResult>> results;  ///< by part
};

void work(const EnduranceQuestion& question, const Scenario& bare, const Limits& limits, std::optional<Duration> period,
          Shared& shared) {
    const Random seeds(question.seed, Concern::chunk);
    const Instant end = Instant{} + question.parts.lasting;
    const Duration step = bare.controller.link.cycle * cycles_per_period_most;
    while (!shared.stop) {
        const std::uint64_t number = shared.next++;
        if (number >= question.parts.count) break;
        Part part(bare, limits, seeds.at(number), period);
        std::uint64_t told = 0;
        const bool whole = part.run(end, step, [&](Instant now) {
            const auto reached = static_cast<std::uint64_t>(now.ns / 1'000'000);
            shared.milliseconds += reached - std::exchange(told, reached);
            return !shared.stop;
        });
        if (!whole && shared.stop) break;
        if (!whole) shared.stop = true;  // it never runs: the other parts would not either
        EnduranceResult& result = shared.results[number].emplace();
        part.tell(result);
    }
    const std::lock_guard lock(shared.mutex);
    --shared.working;
    shared.ended.notify_all();
}

void add(EnduranceResult& sum, EnduranceResult& part) {
    for (std::size_t i = 0; i < 2; ++i) {
        sum.trips[i].by_watchdog += part.trips[i].by_watchdog;
        sum.trips[i].by_rejection += part.trips[i].by_rejection;
        for (std::size_t m = 0; m < proto::measure_count; ++m) sum.rejected[i][m] += part.rejected[i][m];
    }
    sum.parts_done += part.parts_done;
    sum.seconds += part.seconds;
    sum.cycles += part.cycles;
    sum.windows += part.windows;
    sum.cycles_in_full += part.cycles_in_full;
    sum.acknowledgements += part.acknowledgements;
    sum.seconds_stopped += part.seconds_stopped;
    sum.dangerous += part.dangerous;
    if (sum.first_dangerous.empty()) sum.first_dangerous = std::move(part.first_dangerous);
    sum.link_started = sum.link_started && part.link_started;
    sum.digest = scramble(sum.digest ^ part.digest);
}

}  // namespace

EnduranceParts parts_of_years(double years) {
    // A month or more each, so that power on and the first error of each part weigh nothing; a hundred years at most,
    // since an instant holds 292.
    constexpr double parts_per_year = 12.0;
    constexpr double parts_enough = 256.0;
    const double wanted = std::max({1.0, std::min(years * parts_per_year, parts_enough), years / 100.0});
    auto count = static_cast<std::uint64_t>(wanted);
    if (static_cast<double>(count) < wanted) ++count;
    return {count, Duration{static_cast<std::int64_t>(years * seconds_per_year * 1e9 / static_cast<double>(count))}};
}

EnduranceOutlook endurance_outlook(const Scenario& scenario) {
    EnduranceOutlook outlook;
    const double cycles = seconds_per_year * 1e9 / static_cast<double>(scenario.controller.link.cycle.ns);
    outlook.seconds_per_year = cycles * seconds_per_cycle;
    if (scenario.to_device.queue || scenario.to_controller.queue) {
        outlook.why = "other traffic queues in front of the telegrams, so no two cycles are alike";
        return outlook;
    }
    const std::optional<Duration> period = period_of(scenario);
    if (!period) {
        outlook.why = "the scans of the two ends never meet again in the same way";
        return outlook;
    }
    double strange = 0.0;
    for (const Direction direction : {Direction::to_device, Direction::to_controller}) {
        const auto quiet = quiet_of(scenario, direction, *period, 0);
        if (!quiet) {
            outlook.why = "telegrams may change places in every cycle";
            return outlook;
        }
        const std::int64_t places = period->ns / scenario.end(sender(direction)).link.scan.ns;
        double most = 0.0;
        for (std::int64_t i = 0; i < places; ++i) most = std::max(most, quiet->strange(static_cast<std::size_t>(i)));
        // a polled device answers each telegram of the controller, whenever it scans
        const bool answers =
            direction == Direction::to_controller && scenario.controller.link.exchange == proto::Exchange::polled;
        const std::int64_t sent = answers ? period->ns / scenario.controller.link.scan.ns : places;
        strange += most * static_cast<double>(sent);
    }
    if (strange > strange_most) {
        outlook.why = "something happens in nearly every cycle";
        return outlook;
    }
    outlook.method = EnduranceMethod::jumps;
    outlook.period = *period;
    outlook.strange_per_period = strange;
    const double periods = seconds_per_year * 1e9 / static_cast<double>(period->ns);
    outlook.seconds_per_year = std::min(periods * strange * seconds_per_window, outlook.seconds_per_year);
    return outlook;
}

EnduranceResult endure(const EnduranceQuestion& question, EnduranceMonitor& monitor) {
    const Scenario bare = without_faults(question.scenario);
    const ScenarioLimits limits = limits_of(bare);
    const bool jumps = question.method == EnduranceMethod::jumps;
    const std::optional<Duration> period = jumps ? period_of(bare) : std::nullopt;
    proto::require(!jumps || period, "jumps over scans that never repeat");

    Shared shared;
    shared.results.resize(question.parts.count);
    std::vector<std::thread> threads;
    const auto jobs = static_cast<unsigned>(std::min<std::uint64_t>(question.jobs, question.parts.count));
    shared.working = jobs;
    for (unsigned i = 0; i < jobs; ++i)
        threads.emplace_back([&] { work(question, bare, limits.limits, period, shared); });
    const double whole =
        static_cast<double>(question.parts.lasting.ns) * 1e-6 * static_cast<double>(question.parts.count);
    {
        std::unique_lock lock(shared.mutex);
        while (!shared.ended.wait_for(lock, std::chrono::milliseconds(100), [&] { return shared.working == 0; }))
            if (!monitor.go_on(static_cast<double>(shared.milliseconds) / whole)) shared.stop = true;
    }
    for (std::thread& thread : threads) thread.join();

    EnduranceResult sum;
    sum.method = question.method;
    sum.parts_wanted = question.parts.count;
    for (auto& part : shared.results)
        if (part) add(sum, *part);
    return sum;
}

}  // namespace sim
