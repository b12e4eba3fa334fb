// Both ends of a link, each with its model beside it, over a channel that does everything: after each scan of an end
// its model agrees. What the walks of arrivals_test.cpp cannot reach is here: long runs, both ends at once, handshakes
// that fail, restarts, clocks that drift, tasks that stall, acknowledgements, telegrams that nobody sent.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <memory>
#include <string>
#include <vector>

#include "tests/support/effort.hpp"
#include "tests/support/shadow.hpp"

namespace {

using proto::Duration;
using proto::End;
using proto::Exchange;
using proto::Instant;
using proto::milliseconds;
using proto::Reaction;
using tests::Draws;
using tests::Shadow;
using tests::model::Meaning;
using Bytes = std::vector<std::uint8_t>;

constexpr std::uint64_t base_seed = 20'261'125;

struct Link {
    explicit Link(const tests::Pair& pair) : ends{Shadow(pair.controller), Shadow(pair.device)} {}
    std::array<Shadow, 2> ends;
};

/// Every kind of settings that a sequence may run with.
std::vector<tests::Pair> variants() {
    std::vector<tests::Pair> all;
    for (const Exchange exchange : {Exchange::polled, Exchange::streaming})
        for (const Reaction reaction : {Reaction::trip, Reaction::discard})
            for (const unsigned bits : {2U, 3U, 8U})
                for (const bool feedback : {false, true}) {
                    const bool streaming = exchange == Exchange::streaming;
                    if (feedback && (!streaming || bits == 2)) continue;
                    proto::Profile profile = tests::plain_profile(bits);
                    profile.feedback = feedback;
                    tests::Pair pair = streaming ? tests::streaming_pair(profile) : tests::polled_pair(profile);
                    pair.both([&](proto::LinkSettings& s) {
                        s.reaction = reaction;
                        s.error_interval = milliseconds(45);
                        s.watchdog = s.peer_watchdog = milliseconds(35);
                        s.missing_allowed = streaming && bits > 2 ? 2 : 0;
                        if (feedback) s.max_lag = bits == 3 ? 3 : 4;
                    });
                    // Unequal ends: the device scans faster and waits longer.
                    pair.device.scan = milliseconds(7);
                    pair.device.watchdog = pair.controller.peer_watchdog = milliseconds(52);
                    all.push_back(pair);
                }
    return all;
}

class Sequence {
  public:
    Sequence(Link& link, std::uint64_t seed) : link_(link), draws_(seed) {
        // How wild it gets: 0 is a link without trouble.
        trouble_ = draws_.below(4) * draws_.below(4);
        for (End_& e : ends_) e.drift_ppm = draws_.between(-300, 300);
    }

    /// Empty if real endpoints and models agreed all along.
    std::string run(unsigned scans) {
        for (unsigned i = 0; i < 2; ++i) start(i);
        for (unsigned i = 0; i < scans; ++i) {
            const std::string text = scan(true_time(0) <= true_time(1) ? 0 : 1);
            if (!text.empty()) return text;
            if (i == scans / 3) trouble_ += draws_.below(3);  // many get through the handshake first
        }
        return {};
    }
    std::uint64_t scans_running = 0, rejected = 0, acknowledged = 0;

  private:
    struct OnTheWay {
        std::int64_t due;
        Bytes bytes;
    };
    struct End_ {
        Instant next{};  ///< local time of the next scan
        std::int64_t drift_ppm = 0;
        std::vector<OnTheWay> way;  ///< to this end
        std::vector<Bytes> heard;   ///< for replays
    };

    [[nodiscard]] std::int64_t true_time(unsigned i) const {
        return ends_[i].next.ns + ends_[i].next.ns / 1'000'000 * ends_[i].drift_ppm;
    }
    bool chance(std::uint32_t in) { return trouble_ != 0 && draws_.below(in) < trouble_; }

    void start(unsigned i) {
        link_.ends[i].start(ends_[i].next, draws_.next());
        ends_[i].way.clear();
        if (draws_.one_in(2)) ends_[i].next.ns += draws_.between(0, 9'000'000);
    }

    std::string scan(unsigned i) {
        End_& e = ends_[i];
        Shadow& end = link_.ends[i];
        const std::int64_t now = true_time(i);
        if (chance(600)) start(i);
        unsigned room = 60;
        for (std::size_t k = 0; k < e.way.size();) {
            if (e.way[k].due > now) {
                ++k;
                continue;
            }
            if (room-- > 0) end.receive(e.way[k].bytes);
            e.way.erase(e.way.begin() + static_cast<std::ptrdiff_t>(k));
            if (room == 0) break;
        }
        if (chance(120)) invent(i);
        if (i == 0 && (end.real.end.acknowledgement_requested() ? draws_.one_in(2) : draws_.one_in(16))) {
            const auto level = draws_.one_in(2) ? proto::Endpoint::Contact::open : proto::Endpoint::Contact::closed;
            const std::string text = end.contact(level, e.next);
            if (!text.empty()) return text;
        }
        const std::string text = end.scan(e.next, draws_.next() | 1);
        if (!text.empty()) return name_of(i) + text;
        if (end.real.end.next_deadline() <= e.next) return name_of(i) + " the next scan is not later than this one";
        count(end);
        for (std::size_t k = 0; k < end.real.sent_kinds.size(); ++k) put(1 - i, now, end.real.sent_bytes[k]);
        // A task may be late; it may also miss scans altogether.
        e.next = end.real.end.next_deadline();
        if (draws_.one_in(3)) e.next.ns += draws_.between(0, 2'000'000);
        if (chance(300)) e.next.ns += draws_.between(0, 120'000'000);
        return {};
    }

    static std::string name_of(unsigned i) { return i == 0 ? "controller:" : "device:"; }

    void count(const Shadow& end) {
        if (end.real.end.state() == proto::State::running) ++scans_running;
        for (const auto& c : end.real.heard.conclusions) rejected += c.kind == proto::Verdict::Kind::rejected ? 1 : 0;
        for (const auto& c : end.real.heard.changes) acknowledged += c.cause == proto::Cause::acknowledged ? 1 : 0;
    }

    void put(unsigned to, std::int64_t now, const Bytes& bytes) {
        End_& e = ends_[to];
        if (e.heard.size() < 40) e.heard.push_back(bytes);
        const std::int64_t due = now + draws_.between(0, 3'000'000);
        if (chance(60)) return;  // lost
        Bytes arriving = bytes;
        if (chance(80)) {
            const std::uint32_t bit = draws_.below(static_cast<std::uint32_t>(bytes.size() * 8));
            arriving[bit / 8] = static_cast<std::uint8_t>(arriving[bit / 8] ^ (1U << (bit % 8)));
        }
        if (chance(200)) arriving.resize(draws_.below(100));
        e.way.push_back({due + (chance(40) ? draws_.between(0, 60'000'000) : 0), arriving});
        if (chance(60)) e.way.push_back({due + draws_.between(0, 30'000'000), bytes});
        if (chance(250)) ends_[1 - to].way.push_back({due, bytes});  // comes back to its sender
        if (chance(60)) {
            const Bytes& old = e.heard[draws_.below(static_cast<std::uint32_t>(e.heard.size()))];
            e.way.push_back({due, old});
        }
    }

    /// A good telegram that nobody sent, near to what is expected.
    void invent(unsigned to) {
        Shadow& end = link_.ends[to];
        Meaning m;
        m.kind = draws_.one_in(5) ? Meaning::Kind::foreign : Meaning::Kind::process;
        const std::uint32_t numbers = 1U << end.real.end.settings().profile.sequence.bits;
        m.number = (end.model.last_number() + draws_.below(5) + numbers - 2) % numbers;
        m.safe = draws_.one_in(3);
        m.request = to == 0 && draws_.one_in(3);
        m.acknowledge = draws_.one_in(3);
        m.restart = to == 0 && draws_.one_in(8);
        m.value = draws_.next();
        if (end.real.end.settings().profile.feedback)
            m.feedback = (end.model.number_out() + numbers - draws_.below(6) % numbers) % numbers;
        end.receive(end.receives.bytes_of(m));
    }

    Link& link_;
    Draws draws_;
    std::uint32_t trouble_ = 0;
    std::array<End_, 2> ends_{};
};

unsigned scans_of(std::uint64_t seed) { return 8 + static_cast<unsigned>(seed * 7 % 33); }

}  // namespace

TEST_CASE("R-20 R-50 R-55 R-60 R-62 a million random sequences over a whole link are taken as the models take them") {
    const std::vector<tests::Pair> kinds = variants();
    std::vector<std::unique_ptr<Link>> links;
    for (const tests::Pair& pair : kinds) links.push_back(std::make_unique<Link>(pair));

    const std::uint64_t count = tests::runs_wanted(1'000'000);
    std::uint64_t scans = 0, running = 0, rejected = 0, acknowledged = 0;
    for (std::uint64_t i = 0; i < count; ++i) {
        const std::uint64_t seed = base_seed + i;
        Sequence sequence(*links[i % links.size()], seed);
        // One in a hundred is long.
        const unsigned length = scans_of(seed) * (i % 100 == 0 ? 20 : 1);
        const std::string text = sequence.run(length);
        scans += length;
        running += sequence.scans_running;
        rejected += sequence.rejected;
        acknowledged += sequence.acknowledged;
        if (text.empty()) continue;
        // Once more, with its story.
        Link again(kinds[i % kinds.size()]);
        for (Shadow& end : again.ends) end.keep_story = true;
        Sequence(again, seed).run(length);
        std::string story;
        for (unsigned k = 0; k < 2; ++k)
            for (const std::string& line : again.ends[k].story)
                story += (k == 0 ? "\n  controller " : "\n  device ") + line;
        FAIL("seed " << seed << ", variant " << i % kinds.size() << ": " << text << story);
    }
    MESSAGE("seeds " << base_seed << ".." << base_seed + count - 1 << ": " << scans << " scans, " << running
                     << " running, " << rejected << " telegrams rejected, " << acknowledged << " acknowledged stops");
    // Else the sequences would not be where they should be.
    CHECK(running * 4 > scans);
    CHECK(rejected > count / 20);
    CHECK(acknowledged > count / 500);
}
