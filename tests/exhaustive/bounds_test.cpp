// How old a value in use can become: two real endpoints, a channel that a seed scripts, and a clock that knows the
// truth. The age counts from the scan in which the value was sampled, and is looked at just before a scan of its
// consumer, when the value in use is oldest.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cstdint>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "proto/bytes.hpp"
#include "proto/contract.hpp"
#include "proto/endpoint.hpp"
#include "sim/timing/bounds.hpp"
#include "tests/support/effort.hpp"
#include "tests/support/profiles.hpp"
#include "tests/support/two_ends.hpp"

namespace {

using proto::End;
using proto::Endpoint;
using proto::Instant;
using tests::Draws;
using Ns = std::int64_t;

constexpr Ns ms = 1'000'000;
constexpr std::uint64_t base_seed = 7'190'000;

class Deaf final : public proto::EventSink {
    void concluded(proto::Token /*token*/, const proto::Verdict& /*verdict*/, Instant /*now*/) override {}
    void changed(const proto::Transition& /*transition*/, Instant /*now*/) override {}
    void acknowledged(bool /*counted*/, Instant /*now*/) override {}
    void refused(proto::Refusal /*refusal*/, const proto::LinkParameters& /*theirs*/, Instant /*now*/) override {}
};

/// Two endpoints that are used for many runs.
struct Ends {
    Deaf sink;
    std::vector<Endpoint> end;  ///< controller, device
    explicit Ends(const tests::Pair& pair) {
        for (const proto::LinkSettings& s : {pair.controller, pair.device}) {
            auto made = Endpoint::make(s, sink);
            proto::require(made.ok(), "settings that no endpoint takes");
            end.push_back(std::move(made).value());
        }
    }
    [[nodiscard]] const proto::LinkSettings& settings(unsigned i) const { return end[i].settings(); }
};

/// What the channel and the tasks do in one run. Times are true ones.
struct Script {
    std::array<Ns, 2> first_scan{};
    std::array<Ns, 2> jitter{};          ///< each scan is late by 0..jitter
    std::array<std::int64_t, 2> ppm{};   ///< an end's second is longer by this
    std::array<Ns, 2> stall_at{-1, -1};  ///< the producer misses its scans from here
    std::array<Ns, 2> stall_for{};
    Ns delay_low = 0, delay_high = 0;  ///< ordinary
    std::uint32_t lost_in = 0;         ///< one in so many is lost; 0: none
    Ns losses_from = 0;
    std::uint32_t late_in = 0;  ///< one in so many is late by up to late_most, overtaken by others
    Ns late_most = 0;
    // One episode: telegrams sent from `begin` on (at either or one end) take `step` longer, those sent from
    // `silence` on are lost.
    Ns begin = -1, step = 0, silence = -1;
    bool single = false;  ///< silence follows the first telegram of the episode
    bool hold = false;    ///< not longer by `step`, but held until `begin` + `step`
    std::array<bool, 2> episode_to{true, true};
    Ns end = 0;
};

struct Seen {
    std::array<Ns, 2> oldest{};  ///< age of a value in use at the controller, at the device
    std::uint64_t values = 0;    ///< scans with a value in use
};

/// An end whose scans drift, are late and are missed as the script says.
class ScriptedEnd final : public tests::TwoEnds::Party {
  public:
    ScriptedEnd(Endpoint& end, const Script& script, unsigned index, Draws& draws)
        : end_(end), script_(script), i_(index), draws_(draws), at_(script.first_scan[index]) {
        end_.start({}, {}, draws_.next());
    }
    [[nodiscard]] Instant next_scan() const override { return {at_}; }
    void receive(const tests::Way::InFlight& telegram) override { end_.receive(telegram.bytes, {}); }
    void scan(Instant true_time, const tests::TwoEnds::Send& send) override {
        const Ns now = true_time.ns;
        // The local clock reads what a clock of that rate reads at this instant, rounded up to the deadline.
        const Instant local{std::max(local_of(now - script_.first_scan[i_]), end_.next_deadline().ns)};
        end_.on_deadline(local);
        // At start-up values are worth sampling, too.
        proto::store_be64(end_.output().data(), static_cast<std::uint64_t>(now) + 1);
        tests::poll(end_, local, send);
        Ns next = script_.first_scan[i_] + stretched(end_.next_deadline().ns);
        const Ns stall_at = script_.stall_at[i_], stall_for = script_.stall_for[i_];
        if (stall_at >= 0 && now >= stall_at && now < stall_at + stall_for) next += stall_for;
        if (script_.jitter[i_] != 0) next += draws_.between(0, script_.jitter[i_]);
        at_ = next;
    }

  private:
    [[nodiscard]] Ns stretched(Ns local) const { return local + local / 1'000 * script_.ppm[i_] / 1'000; }
    [[nodiscard]] Ns local_of(Ns true_time) const { return true_time - true_time / 1'000 * script_.ppm[i_] / 1'000; }

    Endpoint& end_;
    const Script& script_;
    unsigned i_;
    Draws& draws_;
    Ns at_;
};

class Run {
  public:
    Run(Ends& ends, const Script& script, std::uint64_t seed)
        : ends_(ends),
          script_(script),
          draws_(seed),
          controller_(ends.end[0], script, 0, draws_),
          device_(ends.end[1], script, 1, draws_) {
        loop_.before_scan = [this](End end) { look_at_age(end == End::controller ? 0 : 1, loop_.now().ns); };
        loop_.channel = [this](const tests::TwoEnds::Sent& sent) { send(sent); };
    }

    Seen go() {
        while (loop_.step({script_.end})) {
        }
        return seen_;
    }

  private:
    void look_at_age(unsigned i, Ns now) {
        const Endpoint& end = ends_.end[i];
        if (end.state() != proto::State::running) return;
        const auto stamp = static_cast<Ns>(proto::load_be64(end.input().data()));
        if (stamp == 0) return;  // the other end was not running yet: a substitute value
        ++seen_.values;
        seen_.oldest[i] = std::max(seen_.oldest[i], now - (stamp - 1));
    }

    void send(const tests::TwoEnds::Sent& sent) {
        const unsigned to = sent.sender == End::controller ? 1 : 0;
        const Ns now = loop_.now().ns;
        Ns due = now + (script_.delay_high == 0 ? 0 : draws_.between(script_.delay_low, script_.delay_high));
        if (script_.lost_in != 0 && now >= script_.losses_from && draws_.one_in(script_.lost_in)) return;
        if (script_.late_in != 0 && draws_.one_in(script_.late_in)) due += draws_.between(0, script_.late_most);
        if (script_.episode_to[to]) {
            if (script_.silence >= 0 && now >= script_.silence) return;
            const bool late = script_.begin >= 0 && now >= script_.begin;
            if (late && script_.single && std::exchange(late_sent_[to], true)) return;
            if (late) due = script_.hold ? std::max(due, script_.begin + script_.step) : due + script_.step;
        }
        loop_.way_to(proto::other(sent.sender)).put({due}, sent.bytes);
    }

    Ends& ends_;
    const Script& script_;
    Draws draws_;
    ScriptedEnd controller_, device_;
    // At the same instant the device comes first: its answer can then be heard at once, the harder case.
    tests::TwoEnds loop_{controller_, device_, End::device};
    std::array<bool, 2> late_sent_{};
    Seen seen_;
};

tests::Pair with_times(tests::Pair pair, Ns cycle, Ns device_scan, Ns watchdog_controller, Ns watchdog_device) {
    pair.controller.cycle = pair.controller.scan = pair.device.cycle = {cycle};
    pair.device.scan = {device_scan};
    pair.controller.watchdog = pair.device.peer_watchdog = {watchdog_controller};
    pair.device.watchdog = pair.controller.peer_watchdog = {watchdog_device};
    return pair;
}

/// Cycles and watchdogs in whole 100 us, all unequal.
tests::Pair random_times(tests::Pair pair, Draws& draws) {
    const Ns step = ms / 10;
    const Ns cycle = draws.between(20, 200) * step;
    const Ns scan = draws.between(20, 200) * step;
    const Ns least = std::max(cycle, scan) + step;
    return with_times(std::move(pair), cycle, scan, least + draws.between(0, 400) * step,
                      least + draws.between(0, 400) * step);
}

struct Worst {
    double ratio = 0;
    std::uint64_t seed = 0;
    Ns age = 0, bound = 0;
    void add(Ns seen, Ns limit, std::uint64_t of) {
        const double r = static_cast<double>(seen) / static_cast<double>(limit);
        if (r > ratio) *this = {r, of, seen, limit};
    }
    [[nodiscard]] std::string text() const {
        return "worst " + std::to_string(ratio) + " of the bound (" + std::to_string(age / 1000) + " of " +
               std::to_string(bound / 1000) + " us, seed " + std::to_string(seed) + ")";
    }
};

Ns with_rho(Ns time, std::int64_t ppm) { return time + time / 1'000 * ppm / 1'000 + 1'000; }

constexpr std::uint64_t runs_per_pair = 200;

}  // namespace

TEST_CASE(
    "R-01 R-26 R-27 R-87 polled: no value in use is older than 2 WD + T, whatever the channel and the producer do") {
    const std::uint64_t count = tests::runs_wanted(1'000'000);
    std::array<Worst, 2> worst;
    std::uint64_t values = 0, above = 0;
    std::unique_ptr<Ends> ends;
    for (std::uint64_t i = 0; i < count; ++i) {
        const std::uint64_t seed = base_seed + i;
        Draws draws(seed);
        if (i % runs_per_pair == 0) ends = std::make_unique<Ends>(random_times(tests::polled_pair(), draws));
        const Ns cycle = ends->settings(0).scan.ns, scan = ends->settings(1).scan.ns;
        const std::array<Ns, 2> period{cycle, scan};
        const Ns slow = std::max(cycle, scan);
        const std::array<Ns, 2> watchdog{ends->settings(0).watchdog.ns, ends->settings(1).watchdog.ns};
        Script s;
        s.first_scan = {draws.between(0, cycle), draws.between(0, scan)};
        for (unsigned k = 0; k < 2; ++k) {
            if (draws.one_in(2)) s.jitter[k] = draws.between(0, period[k] / 4);
            if (draws.one_in(2)) s.ppm[k] = draws.between(-1000, 1000);
        }
        if (draws.one_in(2)) s.delay_high = draws.between(1, slow / 2);
        if (draws.one_in(4)) s.lost_in = 2 + draws.below(20);
        if (draws.one_in(4)) {
            s.late_in = 1 + draws.below(8);
            s.late_most = draws.between(1, 3 * std::max(watchdog[0], watchdog[1]));
        }
        // A start takes four telegrams and their waits.
        const Ns up = 6 * slow;
        s.end = up + 3 * slow + 3 * std::max(watchdog[0], watchdog[1]);
        const unsigned victim = draws.below(2);
        if (!draws.one_in(4)) {
            s.begin = up + draws.between(0, 3 * slow);
            s.hold = draws.one_in(2);
            s.step = draws.between(0, watchdog[victim] + period[victim]);
            s.silence = s.begin + draws.between(0, s.step + 2 * slow);
            s.episode_to = {victim == 0 || draws.one_in(2), victim == 1 || draws.one_in(2)};
        }
        const unsigned producer = 1 - victim;
        const bool stalls = draws.one_in(4);
        if (stalls) {
            s.stall_at[producer] = up + draws.between(0, 3 * slow);
            s.stall_for[producer] = draws.between(0, 2 * watchdog[victim]);
        }
        const Seen seen = Run(*ends, s, seed ^ 0xB0B).go();
        values += seen.values;
        for (unsigned k = 0; k < 2; ++k) {
            if (stalls && k == producer) continue;  // a consumer that stalls cannot stop itself
            const Ns bound =
                2 * with_rho(watchdog[k], std::abs(s.ppm[k])) + with_rho(period[k], std::abs(s.ppm[k])) + s.jitter[k];
            worst[k].add(seen.oldest[k], bound, seed);
            if (seen.oldest[k] > bound) ++above;
        }
    }
    MESSAGE(count << " runs, " << values << " scans with a value in use; at the device " << worst[1].text()
                  << "; at the controller " << worst[0].text());
    CHECK(above == 0);
    CHECK(values > 4 * count);
    CHECK(worst[1].ratio > 0.9);  // else the channels were too kind to show anything
    CHECK(worst[0].ratio > 0.9);
}

namespace {

/// One episode of a stream, and the bound on the age of a value while the ordinary delay is `low`..`high`, T_r being
/// the receiver's scan with its jitter, T_s the sender's without.
enum class Episode : std::uint8_t {
    loss,          ///< high + 2 T_r + WD
    one_late,      ///< one telegram late, then nothing: high + 2 T_r + 2 WD - T_s
    several_late,  ///< all late by the same step, then nothing: up to T_r and the delay's variation more, since not the
                   ///< first of them, which the watchdog limits, is the one that waits longest
};

Ns bound_of(Episode episode, const Script& s, Ns receiver_scan, Ns sender_scan, Ns watchdog) {
    switch (episode) {
        case Episode::loss: return s.delay_high + 2 * receiver_scan + watchdog;
        case Episode::one_late: return s.delay_high + 2 * receiver_scan + 2 * watchdog - sender_scan;
        case Episode::several_late:
            return sim::streaming_bound({.longest_delay = {s.delay_high},
                                         .shortest_delay = {s.delay_low},
                                         .sender_scan = {sender_scan},
                                         .receiver = {.watchdog = {watchdog}, .scan = {receiver_scan}}})
                .ns;
    }
    return 0;
}

void search_stream(Episode episode, const std::string& name) {
    const std::uint64_t count = tests::runs_wanted(200'000);
    std::array<Worst, 2> worst;
    std::uint64_t values = 0, above = 0;
    std::unique_ptr<Ends> ends;
    for (std::uint64_t i = 0; i < count; ++i) {
        const std::uint64_t seed = base_seed + 1'000'000 + i;
        Draws draws(seed);
        if (i % runs_per_pair == 0) {
            tests::Pair pair = random_times(tests::streaming_pair(), draws);
            pair.both([](proto::LinkSettings& one) { one.missing_allowed = 40; });
            ends = std::make_unique<Ends>(pair);
        }
        const std::array<Ns, 2> period{ends->settings(0).scan.ns, ends->settings(1).scan.ns};
        const std::array<Ns, 2> watchdog{ends->settings(0).watchdog.ns, ends->settings(1).watchdog.ns};
        const Ns slow = std::max(period[0], period[1]);
        Script s;
        s.first_scan = {draws.between(0, period[0]), draws.between(0, period[1])};
        for (unsigned k = 0; k < 2; ++k) {
            if (draws.one_in(2)) s.jitter[k] = draws.between(0, period[k] / 4);
            if (draws.one_in(2)) s.ppm[k] = draws.between(-1000, 1000);
        }
        if (!draws.one_in(4)) s.delay_high = draws.between(1, slow / 2);
        s.delay_low = draws.one_in(2) ? 0 : s.delay_high;
        if (episode == Episode::loss || draws.one_in(3)) s.lost_in = 2 + draws.below(20);
        // An undisturbed start: one that is already late would make every delay afterwards look ordinary.
        const Ns up = s.losses_from = 8 * slow;
        s.end = up + 4 * slow + 3 * std::max(watchdog[0], watchdog[1]);
        const unsigned victim = draws.below(2);
        s.silence = up + draws.between(0, 4 * slow);
        s.episode_to = {victim == 0, victim == 1};
        if (episode != Episode::loss) {
            s.begin = s.silence;
            s.step = draws.between(0, watchdog[victim] + period[victim]);
            s.single = episode == Episode::one_late;
            s.silence = s.single ? -1 : s.begin + draws.between(1, 2 * slow);
        }
        const Seen seen = Run(*ends, s, seed ^ 0xB0B).go();
        values += seen.values;
        for (unsigned k = 0; k < 2; ++k) {
            const Ns receiver = with_rho(period[k], std::abs(s.ppm[k])) + s.jitter[k];
            const Ns sender = period[1 - k] - s.jitter[1 - k] - period[1 - k] / 1'000;
            const Ns bound = bound_of(episode, s, receiver, sender, with_rho(watchdog[k], std::abs(s.ppm[k])));
            worst[k].add(seen.oldest[k], bound, seed);
            if (seen.oldest[k] > bound) ++above;
        }
    }
    MESSAGE(name << ": " << count << " runs; at the device " << worst[1].text() << "; at the controller "
                 << worst[0].text());
    CHECK(above == 0);
    CHECK(values > 4 * count);
    CHECK(worst[1].ratio > 0.85);  // else the channels were too kind to show anything
    CHECK(worst[0].ratio > 0.85);
}

}  // namespace

TEST_CASE(
    "R-30 R-87 streaming: a declared largest delay bounds the age of a value, with losses and with one late step") {
    search_stream(Episode::loss, "plain loss");
    search_stream(Episode::one_late, "one late, then nothing");
    search_stream(Episode::several_late, "several late, then nothing");
}

TEST_CASE("R-87 polled: a telegram late, just inside, and then nothing makes a value as old as the scans allow") {
    // T = 10 ms at both ends, delays of 0 to 4 ms: every phase, begin and length of the episode in steps of 0.5 ms, or
    // of 2 ms in a shallower run.
    const Ns period = 10 * ms, grid = tests::depth_wanted() < 6 ? 2 * ms : ms / 2;
    for (const Ns watchdog : {28 * ms, 38 * ms, 60 * ms}) {
        Ends ends(with_times(tests::polled_pair(), period, period, watchdog, watchdog));
        Ns worst = 0;
        std::uint64_t runs = 0;
        for (Ns phase = 0; phase < period; phase += grid)
            for (Ns delay = 0; delay <= 4 * ms; delay += 2 * ms)
                for (Ns begin = 0; begin < period; begin += grid)
                    for (Ns held = watchdog - period; held <= watchdog + period; held += grid) {
                        Script s;
                        s.first_scan = {0, phase};
                        s.delay_low = s.delay_high = delay;
                        s.begin = 10 * period + begin;
                        s.step = held;
                        s.hold = true;
                        s.silence = s.begin + held;
                        s.end = s.begin + 3 * watchdog + 2 * period;
                        worst = std::max(worst, Run(ends, s, 1).go().oldest[1]);
                        ++runs;
                    }
        const Ns tight = (2 * (watchdog / period) + 1) * period;
        MESSAGE("watchdog " << watchdog / ms << " ms: oldest " << static_cast<double>(worst) / 1e6 << " ms of "
                            << tight / ms << " ms, " << runs << " placements");
        CHECK(worst <= tight);
        CHECK(worst > tight - period);
        CHECK(worst <= 2 * watchdog + period);
    }
}
