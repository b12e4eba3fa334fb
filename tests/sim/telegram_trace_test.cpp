// What becomes of telegrams, as it is told: complete, in order, and without a trace in the result.
#include <array>
#include <vector>

#include <doctest/doctest.h>

#include "sim/drive/rehearsal.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using sim::End;
using sim::Fate;
using sim::FaultWay;
using Kind = proto::Verdict::Kind;

/// Counts what it hears, and holds that nothing is concluded that was not delivered.
class Listener final : public sim::TelegramTrace {
  public:
    void sent(const sim::Sent& fact) override {
        hear(fact.at);
        CHECK(!fact.bytes.empty());
        ++sent_count[static_cast<std::size_t>(fact.way)];
    }
    void befell(const sim::Befell& fact) override {
        CHECK(fact.tag.link == 0);
        ++fates[static_cast<std::size_t>(fact.fate)];
    }
    void delivered(const sim::Delivered& fact) override {
        hear(fact.at);
        waiting[static_cast<std::size_t>(fact.to)].push_back(fact.tag);
        ++delivered_count;
    }
    void unheard(const sim::Unheard& fact) override {
        auto& all = waiting[static_cast<std::size_t>(fact.end)];
        do {
            if (all.empty()) break;
            all.pop_back();
            ++unheard_count;
        } while (fact.why == sim::WhyUnheard::forgotten);
    }
    void concluded(const sim::Concluded& fact) override {
        hear(fact.at);
        const proto::Verdict& verdict = fact.verdict;
        auto& all = waiting[static_cast<std::size_t>(fact.end)];
        REQUIRE(!all.empty());
        const sim::Tag tag = all.front();
        all.erase(all.begin());
        ++verdicts[static_cast<std::size_t>(fact.end)][static_cast<std::size_t>(verdict.kind)];
        if (verdict.kind == Kind::rejected && tag.injection != 0) ++rejected_injected;
    }
    [[nodiscard]] bool full() const override { return delivered_count >= most; }

    std::uint64_t most = ~std::uint64_t{0};
    std::array<std::uint64_t, 2> sent_count{};
    std::array<std::uint64_t, 5> fates{};
    std::array<std::vector<sim::Tag>, 2> waiting;
    std::array<std::array<std::uint64_t, 5>, 2> verdicts{};
    std::uint64_t delivered_count = 0, unheard_count = 0, rejected_injected = 0;

  private:
    void hear(sim::Instant now) {
        CHECK(last_ <= now);
        last_ = now;
    }
    sim::Instant last_{};
};

[[nodiscard]] std::uint64_t of(const Listener& heard, End end, Kind kind) {
    return heard.verdicts[static_cast<std::size_t>(end)][static_cast<std::size_t>(kind)];
}
[[nodiscard]] std::uint64_t of(const Listener& heard, Fate fate) { return heard.fates[static_cast<std::size_t>(fate)]; }

/// What was told is what the ends counted.
void same_as_counted(const Listener& heard, const sim::RunResult& result) {
    for (const End end : {End::controller, End::device}) {
        const proto::Counters& counters = end == End::controller ? result.controller.counters : result.device.counters;
        CHECK(of(heard, end, Kind::fresh) == counters.accepted);
        CHECK(of(heard, end, Kind::repeat) == counters.repeats);
        CHECK(of(heard, end, Kind::ignored) == counters.ignored);
        std::uint64_t rejected = 0;
        for (const std::uint64_t each : counters.rejected) rejected += each;
        CHECK(of(heard, end, Kind::rejected) == rejected);
        CHECK(heard.sent_count[static_cast<std::size_t>(end == End::controller ? 0 : 1)] == counters.sent);
    }
}

sim::RunResult rehearsed(sim::Scenario scenario, std::vector<sim::Fault> faults, Listener& heard) {
    scenario.faults = std::move(faults);
    return sim::rehearse(scenario, 1, {.trace = &heard});
}

}  // namespace

TEST_CASE("what is told of a run is what the ends counted, and changes nothing") {
    for (const FaultWay way :
         {FaultWay::random_bits, FaultWay::beside, FaultWay::hold, FaultWay::drop, FaultWay::step, FaultWay::neighbour,
          FaultWay::stray, FaultWay::no_crc, FaultWay::swap, FaultWay::loop_back, FaultWay::instead}) {
        CAPTURE(name_of(way));
        sim::Fault fault = tests::fault_of(way);
        fault.hold = proto::milliseconds(32);
        fault.extra = proto::milliseconds(40);
        fault.count = 3;
        fault.back = 5;
        sim::Scenario scenario = tests::polled_link();
        scenario.faults = {fault};
        const sim::RunResult alone = sim::rehearse(scenario, 1);
        Listener heard;
        const sim::RunResult result = sim::rehearse(scenario, 1, {.trace = &heard});
        CHECK(result.digest == alone.digest);
        same_as_counted(heard, result);
        CHECK(of(heard, Fate::dropped) == (way == FaultWay::drop ? 1 : 0));
        const bool touches = way == FaultWay::random_bits || way == FaultWay::hold || way == FaultWay::step ||
                             way == FaultWay::swap || way == FaultWay::instead;
        CHECK(of(heard, Fate::touched) == (touches ? 1 : 0));
        if (way != FaultWay::drop && way != FaultWay::step) CHECK(heard.rejected_injected >= 1);
    }
}

TEST_CASE("the channel's own losses and bit errors are told") {
    sim::Scenario scenario = tests::polled_link();
    scenario.to_device.loss = 0.05;
    scenario.to_controller.bit_error_rate = 1e-4;
    Listener heard;
    const auto result = rehearsed(scenario, {}, heard);
    same_as_counted(heard, result);
    CHECK(of(heard, Fate::lost) > 3);
    CHECK(of(heard, Fate::bent) > 0);
    CHECK(of(heard, Fate::lost) + heard.delivered_count <= heard.sent_count[0] + heard.sent_count[1]);
}

TEST_CASE("losses in bursts and a full queue are told as the channel's own") {
    sim::Scenario scenario = tests::streaming_link();
    scenario.to_device.bursts = sim::BurstLoss{0.05, 0.5, 0.0, 1.0};
    Listener heard;
    const auto result = rehearsed(scenario, {}, heard);
    CHECK(of(heard, Fate::lost) > 0);
    same_as_counted(heard, result);
}

TEST_CASE("an end without power hears nothing, and forgets what waited") {
    sim::Scenario scenario = tests::polled_link();
    sim::Fault fault;
    fault.error = sim::ErrorKind::none;
    fault.way = FaultWay::restart;
    fault.at_end = End::device;
    fault.at = proto::milliseconds(500);
    fault.lasting = proto::milliseconds(300);
    Listener heard;
    static_cast<void>(rehearsed(scenario, {fault}, heard));
    CHECK(heard.unheard_count >= 25);
    std::uint64_t concluded = 0;
    for (const auto& end : heard.verdicts)
        for (const std::uint64_t each : end) concluded += each;
    CHECK(concluded + heard.unheard_count + heard.waiting[0].size() + heard.waiting[1].size() == heard.delivered_count);
}

TEST_CASE("who has heard enough is told no more") {
    Listener heard;
    heard.most = 10;
    const sim::Scenario scenario = tests::polled_link();
    const auto result = sim::rehearse(scenario, 1, {.trace = &heard});
    CHECK(heard.delivered_count == 10);
    CHECK(result.digest == sim::rehearse(scenario, 1).digest);
}
