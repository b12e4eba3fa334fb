// What of a live exchange was on the line: parts that are moved step by step, over a network whose time is known and by
// clocks that differ.
#include <algorithm>
#include <array>
#include <deque>
#include <map>
#include <memory>
#include <optional>
#include <variant>

#include <doctest/doctest.h>

#include "sim/drive/limits.hpp"
#include "sim/live/live_part.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::Duration;
using proto::Instant;
using proto::microseconds;
using proto::milliseconds;
using proto::seconds;
using sim::End;

/// Three parts, each with a clock of its own, and `hop` on the network between each end and the channel.
class Network {
  public:
    Network(const sim::Scenario& scenario, Duration hop, std::array<Duration, 3> ahead)
        : scenario_(scenario), hop_(hop), ahead_(ahead) {
        parts_[0] = sim::live_end(scenario, 1, End::controller, [this](End, auto bytes) { send(0, 1, bytes); });
        parts_[1] = sim::live_channel(scenario, 1,
                                      [this](End to, auto bytes) { send(1, to == End::controller ? 0 : 2, bytes); });
        parts_[2] = sim::live_end(scenario, 1, End::device, [this](End, auto bytes) { send(2, 1, bytes); });
        for (std::size_t i = 0; i < parts_.size(); ++i) parts_[i]->start(i + 1, local(i));
    }
    sim::PartRecords run() {
        while (step()) {
        }
        sim::PartRecords records;
        for (std::size_t i = 0; i < parts_.size(); ++i) parts_[i]->finish(records[i]);
        return records;
    }

  private:
    struct Packet {
        Instant at;
        std::size_t from, to;
        std::vector<std::uint8_t> bytes;
    };
    [[nodiscard]] Instant local(std::size_t part) const { return now_ + ahead_[part]; }
    void send(std::size_t from, std::size_t to, std::span<const std::uint8_t> bytes) {
        packets_.push_back({now_ + hop_, from, to, {bytes.begin(), bytes.end()}});
    }
    bool step() {
        std::size_t who = 0;
        const auto due = [this](std::size_t part) { return parts_[part]->next_event() - ahead_[part]; };
        for (std::size_t i = 1; i < parts_.size(); ++i)
            if (due(i) < due(who)) who = i;
        const bool packet = !packets_.empty() && packets_.front().at <= due(who);
        now_ = packet ? packets_.front().at : due(who);
        if (now_ >= Instant{} + scenario_.duration) return false;
        if (!packet) {
            parts_[who]->do_due(local(who));
            return true;
        }
        const Packet arrived = std::move(packets_.front());
        packets_.pop_front();
        const auto way = arrived.from == 2 ? sim::Direction::to_controller : sim::Direction::to_device;
        parts_[arrived.to]->arrive(way, arrived.bytes, local(arrived.to));
        return true;
    }

    const sim::Scenario& scenario_;
    Duration hop_;
    std::array<Duration, 3> ahead_;
    std::deque<Packet> packets_;
    Instant now_{};
    std::array<std::unique_ptr<sim::LivePart>, 3> parts_;
};

/// From a new telegram to the acceptance of its answer, by the controller's log alone.
std::vector<Duration> whole_exchanges(const sim::PartRecords& parts) {
    std::vector<Duration> found;
    std::optional<Instant> sent;
    for (const sim::Event& event : parts[0].log.events) {
        if (const auto* out = std::get_if<sim::LoggedSending>(&event)) sent = out->at;
        const auto* answer = std::get_if<sim::Concluded>(&event);
        if (answer == nullptr || !sent || answer->verdict.kind != proto::Verdict::Kind::fresh) continue;
        found.push_back(answer->at - *sent);
        sent.reset();
    }
    return found;
}

/// Of each exchange what the channel took for the first of its telegrams that got through, each way; by their bytes.
std::vector<Duration> channel_times(const sim::PartRecords& parts) {
    std::map<std::uint64_t, Duration> passages;  // by identity
    std::map<std::uint64_t, Instant> offered;    // by number
    for (const sim::Event& event : parts[1].log.events) {
        if (const auto* offer = std::get_if<sim::LoggedOffer>(&event)) offered[offer->number] = offer->at;
        if (const auto* delivery = std::get_if<sim::LoggedDelivery>(&event))
            passages.emplace(delivery->identity, delivery->at - offered.at(sim::Tag::from(delivery->tag).instance));
    }
    std::vector<Duration> found;
    const sim::LoggedSending* sent = nullptr;
    for (const sim::Event& event : parts[0].log.events) {
        if (const auto* out = std::get_if<sim::LoggedSending>(&event)) sent = out;
        const auto* answer = std::get_if<sim::Concluded>(&event);
        if (answer == nullptr || sent == nullptr || answer->verdict.kind != proto::Verdict::Kind::fresh) continue;
        found.push_back(passages.at(sent->identity) + passages.at(answer->token.value));
        sent = nullptr;
    }
    return found;
}

std::vector<sim::LiveRoundTrip> joined(const sim::Scenario& scenario, const sim::PartRecords& parts) {
    const auto result = sim::join(scenario, 1, sim::limits_of(scenario), parts);
    REQUIRE(result);
    return result->round_trips;
}

sim::Scenario link_of(Duration out, Duration back, Duration watchdog) {
    sim::Scenario s = tests::polled_link();
    s.duration = seconds(5);
    s.to_device.delay = {sim::DelayShape::Kind::constant, out, out, {}};
    s.to_controller.delay = {sim::DelayShape::Kind::constant, back, back, {}};
    tests::set_watchdogs(s, watchdog, watchdog);
    s.demands.clear();
    s.faults.clear();
    return s;
}

constexpr std::array<Duration, 3> one_clock{};
constexpr std::array<Duration, 3> three_clocks{milliseconds(700), milliseconds(0), milliseconds(-300)};

void check_sums(const std::vector<sim::LiveRoundTrip>& trips, const sim::PartRecords& parts) {
    const std::vector<Duration> whole = whole_exchanges(parts);
    REQUIRE(trips.size() <= whole.size());
    REQUIRE(trips.size() + 100 > whole.size());  // by other clocks the run ends at another moment
    for (std::size_t i = 0; i < trips.size(); ++i) {
        CHECK(trips[i].line + trips[i].scan_wait == whole[i]);
        CHECK(trips[i].scan_wait >= Duration{});
    }
}

}  // namespace

TEST_CASE(
    "on the line is what channel and network took, whatever the scans, and line and wait are the whole exchange") {
    const sim::Scenario s = link_of(microseconds(700), microseconds(1300), milliseconds(60));
    for (const Duration hop : {Duration{}, microseconds(250)})
        for (const auto& clocks : {one_clock, three_clocks}) {
            const sim::PartRecords parts = Network(s, hop, clocks).run();
            const auto trips = joined(s, parts);
            REQUIRE(trips.size() > 200);
            check_sums(trips, parts);
            for (const sim::LiveRoundTrip& trip : trips) CHECK(trip.line == microseconds(2000) + hop * 4);
        }
}

TEST_CASE("a round trip longer than a cycle, in which telegrams are said again, is on the line as long as it was") {
    const sim::Scenario s = link_of(milliseconds(14), milliseconds(9), milliseconds(200));
    const auto parts = Network(s, microseconds(100), three_clocks).run();
    const auto trips = joined(s, parts);
    REQUIRE(trips.size() > 50);
    check_sums(trips, parts);
    for (const sim::LiveRoundTrip& trip : trips) CHECK(trip.line == milliseconds(23) + microseconds(400));
}

TEST_CASE("the time until a lost telegram is said again is no time on the line") {
    sim::Scenario s = link_of(microseconds(700), microseconds(1300), milliseconds(300));
    s.duration = seconds(20);
    s.to_device.loss = s.to_controller.loss = 0.15;
    const auto parts = Network(s, microseconds(250), three_clocks).run();
    const auto trips = joined(s, parts);
    REQUIRE(trips.size() > 300);
    check_sums(trips, parts);
    const Duration cycle = s.controller.link.cycle;
    const auto said_again = std::count_if(trips.begin(), trips.end(),
                                          [&](const sim::LiveRoundTrip& trip) { return trip.scan_wait > cycle * 2; });
    CHECK(said_again > 30);
    for (const sim::LiveRoundTrip& trip : trips) CHECK(trip.line == microseconds(3000));
}

TEST_CASE("delays of the channel that differ are on the line each with its own time") {
    sim::Scenario s = link_of(microseconds(200), microseconds(200), milliseconds(60));
    s.to_device.delay = {sim::DelayShape::Kind::uniform, microseconds(200), milliseconds(4), {}};
    s.to_controller.delay = s.to_device.delay;
    const auto parts = Network(s, Duration{}, one_clock).run();
    const auto trips = joined(s, parts);
    REQUIRE(trips.size() > 200);
    check_sums(trips, parts);
    const std::vector<Duration> passages = channel_times(parts);
    REQUIRE(trips.size() <= passages.size());
    for (std::size_t i = 0; i < trips.size(); ++i) CHECK(trips[i].line == passages[i]);
    CHECK(std::any_of(trips.begin(), trips.end(), [&](const auto& trip) { return trip.line > milliseconds(5); }));
}

TEST_CASE("without records of arrivals nothing but what the channel saw is known, and the line has all that is not") {
    const sim::Scenario s = link_of(microseconds(700), microseconds(1300), milliseconds(60));
    auto parts = Network(s, microseconds(250), one_clock).run();
    for (sim::PartRecord& part : parts)
        std::erase_if(part.log.events,
                      [](const sim::Event& event) { return std::holds_alternative<sim::LoggedArrival>(event); });
    const auto trips = joined(s, parts);
    check_sums(trips, parts);
    for (const sim::LiveRoundTrip& trip : trips) CHECK((trip.line >= milliseconds(3) && trip.scan_wait == Duration{}));
}
