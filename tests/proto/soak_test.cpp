// A long rehearsal with random losses, delays, copies, damage and restarts: whatever happens, the invariants hold.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <random>

#include "tests/support/bench.hpp"

namespace {

using proto::Cause;
using proto::Duration;
using proto::End;
using proto::Instant;
using proto::milliseconds;
using proto::State;
using tests::Bench;
using tests::Telegram;

constexpr int scans = 20'000;  // of both ends together

enum class Arrival { in_order, any_order };

/// One soak; draws decide everything, so that a seed repeats it.
class Soak {
  public:
    Soak(const tests::Pair& pair, std::uint64_t seed, Arrival arrival)
        : bench_(pair), draws_(seed), arrival_(arrival), bound_(pair.device.watchdog * 2 + pair.device.scan) {
        polled_ = pair.controller.exchange == proto::Exchange::polled;
        bench_.keep_log = false;
        bench_.channel = [this](Telegram& t) { trouble(t); };
        bench_.before_scan = [this](End end) { before(end); };
        bench_.after_scan = [this](End end) { after(end); };
    }
    Soak(const Soak&) = delete;
    Soak& operator=(const Soak&) = delete;
    ~Soak() = default;

    void run() {
        bench_.start_both();
        while (scans_ < scans) bench_.run_for(milliseconds(10));
        // It was not all standstill, and not all of it harmless.
        CHECK(running_scans_ > scans / 20);
        CHECK(recovered_ > 20);
        CHECK(restarts_ > 5);
        CHECK(oldest_ > milliseconds(30));
        // With the trouble gone the link recovers.
        bench_.channel = nullptr;
        quiet_ = true;
        bench_.run_for(proto::seconds(2));
        CHECK((bench_.both_running() || bench_.recover()));
    }

  private:
    bool one_in(unsigned n) { return (draws_() >> 32) % n == 0; }
    unsigned below(unsigned n) { return static_cast<unsigned>((draws_() >> 32) % n); }

    void trouble(Telegram& t) {
        if (bench_.now() >= calm_until_ && one_in(400)) {
            // an episode: some time of heavy loss or of a long delay
            calm_until_ = bench_.now() + milliseconds(20 + below(200));
            lossy_ = one_in(2);
            slow_ = milliseconds(below(60));
        }
        const bool episode = bench_.now() < calm_until_;
        if (one_in(300) || (episode && lossy_ && !one_in(4))) t.drop();
        Duration delay = proto::microseconds(500 + below(3000));
        if (episode && !lossy_) delay = delay + slow_;
        t.delay(delay);
        if (one_in(200)) t.again_after(delay + milliseconds(below(30)));
        if (one_in(250) && !t.arrivals.empty()) t.flip(below(static_cast<unsigned>(t.bytes.size()) * 8));
        if (arrival_ == Arrival::any_order) return;
        Instant& last = last_arrival_[t.to_device() ? 1 : 0];
        for (Telegram::Arrival& a : t.arrivals) {
            last = std::max(last, bench_.now() + a.delay);
            a.delay = last - bench_.now();
        }
    }

    void before(End end) {
        if (end != End::device || !polled_) return;
        const Duration age = bench_.age_of_value_at(end).value_or(Duration{});
        oldest_ = std::max(oldest_, age);
        if (age > bound_) FAIL("a value in use is older than 2 WD + T");
    }

    void after(End end) {
        ++scans_;
        proto::Endpoint& e = bench_.at(end);
        const auto input = e.input();
        if (e.state() == State::running) {
            ++running_scans_;
            if (!polled_) oldest_ = std::max(oldest_, milliseconds(31));
        } else if (!std::all_of(input.begin(), input.end(), [](std::uint8_t b) { return b == 0; })) {
            FAIL("something else than substitute values is in use outside running");
        }
        look_at_changes(end);
        if (quiet_) return;
        if (bench_.controller.acknowledgement_requested() && one_in(10)) {
            bench_.controller.set_acknowledge(proto::Endpoint::Contact::closed, bench_.now());
        } else if (one_in(3)) {
            bench_.controller.set_acknowledge(proto::Endpoint::Contact::open, bench_.now());
        }
        if (one_in(800)) {
            const End victim = one_in(2) ? End::controller : End::device;
            bench_.start(victim, milliseconds(1 + below(40)));
            ++restarts_;
        }
    }

    /// Each way into running must be one that is allowed.
    void look_at_changes(End end) {
        for (const bool counted : bench_.at_controller.acknowledgements) counted_ += counted ? 1U : 0U;
        bench_.at_controller.acknowledgements.clear();
        auto& changes = bench_.heard_by(end).changes;
        unsigned long long& at_stop = counted_at_stop_[end == End::device ? 1 : 0];
        for (const Recorder::Changed& c : changes) {
            if (c.transition.to == State::safe_state) at_stop = counted_;
            if (c.transition.to != State::running) continue;
            if (c.transition.from == State::safe_state) FAIL("running straight from the safe state");
            if (c.transition.from == State::awaiting_acknowledgement) {
                ++recovered_;
                if (c.transition.cause != Cause::acknowledged) FAIL("running again for another cause");
                if (counted_ == at_stop) FAIL("running again without an acknowledgement since the stop");
            }
        }
        changes.clear();
        bench_.heard_by(end).verdicts.clear();
    }

    using Recorder = tests::Recorder;
    Bench bench_;
    std::mt19937_64 draws_;
    Arrival arrival_;
    Duration bound_;
    bool polled_ = true, lossy_ = false, quiet_ = false;
    Duration slow_{}, oldest_{};
    Instant calm_until_{};
    std::array<Instant, 2> last_arrival_{};
    int scans_ = 0, running_scans_ = 0, restarts_ = 0, recovered_ = 0;
    unsigned long long counted_ = 0;
    std::array<unsigned long long, 2> counted_at_stop_{};
};

tests::Pair discarding(tests::Pair pair) {
    return pair.both([](proto::LinkSettings& s) {
        s.reaction = proto::Reaction::discard;
        s.error_interval = milliseconds(300);
    });
}

}  // namespace

TEST_CASE("R-26 R-61 R-64 soak, polled: invariants hold in 20 000 scans of random trouble") {
    for (const std::uint64_t seed : {1U, 2U})
        for (const Arrival arrival : {Arrival::in_order, Arrival::any_order})
            for (const unsigned bits : {2U, 16U}) {
                if (bits == 2 && arrival == Arrival::any_order) continue;  // two bits do not survive overtaking
                CAPTURE(seed);
                Soak(discarding(tests::polled_pair(tests::plain_profile(bits))), seed, arrival).run();
            }
}

TEST_CASE("R-32 R-61 R-64 soak, streaming: invariants hold in 20 000 scans of random trouble") {
    for (const std::uint64_t seed : {1U, 2U}) {
        CAPTURE(seed);
        auto pair = discarding(tests::streaming_pair());
        pair.both([](proto::LinkSettings& s) { s.missing_allowed = 3; });
        Soak(pair, seed, Arrival::in_order).run();
    }
}
