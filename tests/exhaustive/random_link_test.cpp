// Both ends of a link, each with its model beside it, over a channel that does everything: after each scan of an end
// its model agrees. What the walks of arrivals_test.cpp cannot reach is here: long runs, both ends at once, handshakes
// that fail, restarts, clocks that drift, tasks that stall, acknowledgements, telegrams that nobody sent.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <functional>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "tests/support/effort.hpp"
#include "tests/support/shadow.hpp"
#include "tests/support/two_ends.hpp"

namespace {

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

/// One end and its model, with a clock that drifts.
class ShadowedEnd final : public tests::TwoEnds::Party {
  public:
    explicit ShadowedEnd(Shadow& end) : shadow(end) {}
    [[nodiscard]] Instant next_scan() const override { return {next.ns + next.ns / 1'000'000 * drift_ppm}; }
    void receive(const tests::Way::InFlight& telegram) override { shadow.receive(telegram.bytes); }
    void scan(Instant /*now*/, const tests::TwoEnds::Send& send) override { work(send); }

    Shadow& shadow;
    std::function<void(const tests::TwoEnds::Send&)> work;  ///< a scan
    Instant next{};                                         ///< local time of the next scan
    std::int64_t drift_ppm = 0;
    std::vector<Bytes> heard;  ///< for replays
};

class Sequence {
  public:
    Sequence(Link& link, std::uint64_t seed)
        : draws_(seed), ends_{ShadowedEnd(link.ends[0]), ShadowedEnd(link.ends[1])} {
        // How wild it gets: 0 is a link without trouble.
        trouble_ = draws_.below(4) * draws_.below(4);
        for (ShadowedEnd& e : ends_) e.drift_ppm = draws_.between(-300, 300);
        for (unsigned i = 0; i < 2; ++i)
            ends_[i].work = [this, i](const tests::TwoEnds::Send& send) {
                const std::string text = scan(i, send);
                if (!text.empty()) difference_ = name_of(i) + text;
            };
        loop_.before_scan = [this](End end) {
            if (chance(600)) start(end);
        };
        loop_.channel = [this](const tests::TwoEnds::Sent& sent) { put(proto::other(sent.sender), sent.bytes); };
        loop_.most_per_scan = 60;  // as many as an end keeps until its scan
    }

    /// Empty if real endpoints and models agreed all along.
    std::string run(unsigned scans) {
        for (const End end : {End::controller, End::device}) start(end);
        for (unsigned i = 0; i < scans; ++i) {
            loop_.step(proto::never);
            if (!difference_.empty()) return difference_;
            if (i == scans / 3) trouble_ += draws_.below(3);  // many get through the handshake first
        }
        return {};
    }
    std::uint64_t scans_running = 0, rejected = 0, acknowledged = 0;

  private:
    ShadowedEnd& at(End end) { return ends_[static_cast<std::size_t>(end)]; }
    bool chance(std::uint32_t in) { return trouble_ != 0 && draws_.below(in) < trouble_; }

    void start(End end) {
        ShadowedEnd& e = at(end);
        e.shadow.start(e.next, draws_.next());
        loop_.way_to(end).telegrams.clear();
        if (draws_.one_in(2)) e.next.ns += draws_.between(0, 9'000'000);
    }

    std::string scan(unsigned i, const tests::TwoEnds::Send& send) {
        ShadowedEnd& e = ends_[i];
        Shadow& end = e.shadow;
        if (chance(120)) invent(end, i == 0);
        if (i == 0 && (end.real.end.acknowledgement_requested() ? draws_.one_in(2) : draws_.one_in(16))) {
            const auto level = draws_.one_in(2) ? proto::Endpoint::Contact::open : proto::Endpoint::Contact::closed;
            std::string text = end.contact(level, e.next);
            if (!text.empty()) return text;
        }
        std::string text = end.scan(e.next, draws_.next() | 1);
        if (!text.empty()) return text;
        if (end.real.end.next_deadline() <= e.next) return " the next scan is not later than this one";
        count(end);
        for (std::size_t k = 0; k < end.real.sent_kinds.size(); ++k)
            send({end.real.sent_kinds[k], end.real.sent_bytes[k].size()}, end.real.sent_bytes[k]);
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

    void put(End to, std::span<const std::uint8_t> bytes) {
        std::vector<Bytes>& heard = at(to).heard;
        tests::Way& way = loop_.way_to(to);
        if (heard.size() < 40) heard.emplace_back(bytes.begin(), bytes.end());
        const auto after = [](Instant when, std::int64_t ns) { return Instant{when.ns + ns}; };
        const Instant due = after(loop_.now(), draws_.between(0, 3'000'000));
        if (chance(60)) return;  // lost
        Bytes arriving(bytes.begin(), bytes.end());
        if (chance(80)) {
            const std::uint32_t bit = draws_.below(static_cast<std::uint32_t>(bytes.size() * 8));
            arriving[bit / 8] = static_cast<std::uint8_t>(arriving[bit / 8] ^ (1U << (bit % 8)));
        }
        if (chance(200)) arriving.resize(draws_.below(100));
        way.put(after(due, chance(40) ? draws_.between(0, 60'000'000) : 0), arriving);
        if (chance(60)) way.put(after(due, draws_.between(0, 30'000'000)), bytes);
        if (chance(250)) loop_.way_to(proto::other(to)).put(due, bytes);  // comes back to its sender
        if (chance(60)) way.put(due, heard[draws_.below(static_cast<std::uint32_t>(heard.size()))]);
    }

    /// A good telegram that nobody sent, near to what is expected.
    void invent(Shadow& end, bool controller) {
        Meaning m;
        m.kind = draws_.one_in(5) ? Meaning::Kind::foreign : Meaning::Kind::process;
        const std::uint32_t numbers = 1U << end.real.end.settings().profile.sequence.bits;
        m.number = (end.model.last_number() + draws_.below(5) + numbers - 2) % numbers;
        m.safe = draws_.one_in(3);
        m.request = controller && draws_.one_in(3);
        m.acknowledge = draws_.one_in(3);
        m.restart = controller && draws_.one_in(8);
        m.value = draws_.next();
        if (end.real.end.settings().profile.feedback)
            m.feedback = (end.model.number_out() + numbers - draws_.below(6) % numbers) % numbers;
        end.receive(end.receives.bytes_of(m));
    }

    Draws draws_;
    std::uint32_t trouble_ = 0;
    std::array<ShadowedEnd, 2> ends_;
    tests::TwoEnds loop_{ends_[0], ends_[1], End::controller};
    std::string difference_;
};

unsigned scans_of(std::uint64_t seed) { return 8 + static_cast<unsigned>(seed * 7 % 33); }

}  // namespace

TEST_CASE("R-20 R-50 R-55 R-60 R-62 a million random sequences over a whole link are taken as the models take them") {
    const std::vector<tests::Pair> kinds = variants();
    std::vector<std::unique_ptr<Link>> links;
    links.reserve(kinds.size());
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
