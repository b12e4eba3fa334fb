#include "sim/channel/burst_loss.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <vector>

#include "sim/channel/channel.hpp"
#include "tests/sim/fault_fixture.hpp"
#include "tests/support/close.hpp"

namespace {

constexpr sim::BurstLoss published{.good_to_bad = 0.02, .bad_to_good = 0.25, .in_good = 0.01, .in_bad = 0.9};

TEST_CASE("losses in bursts have the mean of the closed form and bad runs their mean length") {
    // Gilbert 1960, Elliott 1963: (r l_good + p l_bad) / (p + r) = 7.59 %, bad runs of 1 / r = 4.
    sim::BurstLossChain chain(published, 11, 0);
    constexpr int telegrams = 1'000'000;
    double lost = 0.0, bad = 0.0, runs = 0.0;
    bool before = false;
    for (int i = 0; i < telegrams; ++i) {
        const bool now = chain.bad();
        if (now && !before) runs += 1.0;
        bad += now ? 1.0 : 0.0;
        before = now;
        lost += chain.loses() ? 1.0 : 0.0;
    }
    // Limits of five standard errors, a level of 6e-7 for each check. Counts of a two-state chain have the variance of
    // independent ones times (1 + c) / (1 - c), c = 1 - p - r, for the state; losses add their own.
    const double share = 0.02 / 0.27;
    const double state_error = std::sqrt(share * (1 - share) * (1.73 / 0.27) / telegrams);
    CHECK(std::fabs(bad / telegrams - share) < 5 * state_error);
    const double mean = (0.25 * 0.01 + 0.02 * 0.9) / 0.27;
    CHECK(tests::close_to(mean, 0.0759, 1e-3));
    CHECK(std::fabs(lost / telegrams - mean) <
          5 * std::sqrt(0.89 * 0.89 * state_error * state_error + mean * (1 - mean) / telegrams));
    CHECK(std::fabs(bad / runs - 4.0) < 5 * std::sqrt(0.75 / (0.25 * 0.25) / runs));
}

TEST_CASE("a chain that never changes, and one that always does") {
    sim::BurstLossChain still({.good_to_bad = 0.0, .bad_to_good = 0.0, .in_good = 0.0, .in_bad = 1.0}, 1, 0);
    sim::BurstLossChain restless({.good_to_bad = 1.0, .bad_to_good = 1.0, .in_good = 0.0, .in_bad = 1.0}, 1, 0);
    for (int i = 0; i < 1000; ++i) {
        CHECK_FALSE(still.loses());
        CHECK(restless.loses() == (i % 2 == 1));
    }
}

/// Which of some telegrams to the device arrive.
std::vector<bool> arrivals(const sim::ChannelSettings& to_device, bool other_way_too) {
    sim::Channel channel(to_device, {}, 3);
    std::vector<bool> arrived;
    for (int i = 0; i < 2000; ++i) {
        const sim::Instant now{proto::milliseconds(i).ns};
        for (const sim::Direction direction : {sim::Direction::to_device, sim::Direction::to_controller}) {
            if (direction == sim::Direction::to_controller && !other_way_too) continue;
            sim::Telegram& telegram = channel.slot();
            telegram.size = 20;
            channel.offer(telegram, sim::Tag::genuine(static_cast<std::uint64_t>(i), 0, direction, false), now);
        }
        bool here = false;
        while (channel.next_due() != proto::never) {
            const auto delivery = channel.take();
            here = here || delivery.passage.tag.direction == sim::Direction::to_device;
            channel.release(delivery);
        }
        arrived.push_back(here);
    }
    return arrived;
}

TEST_CASE("which telegrams a chain loses depends on nothing else in the channel") {
    sim::ChannelSettings plain, rich;
    plain.bursts = rich.bursts = published;
    rich.delay.kind = sim::DelayShape::Kind::uniform;
    rich.delay.high = proto::microseconds(700);
    rich.bit_error_rate = 1e-4;
    const auto alone = arrivals(plain, false);
    CHECK(alone == arrivals(plain, true));
    CHECK(alone == arrivals(rich, true));
    const auto lost = static_cast<int>(std::count(alone.begin(), alone.end(), false));
    CHECK(lost > 50);
    CHECK(lost < 300);
    CHECK(arrivals({}, false) == std::vector<bool>(2000, true));
}

}  // namespace
