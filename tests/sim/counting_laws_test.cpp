// Laws of counts beside all orders counted out one by one, and beside draws where there are too many.
#include "sim/numeric/counting_laws.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <vector>

#include "sim/numeric/random.hpp"
#include "tests/support/close.hpp"

namespace {

struct Counted {
    std::map<std::uint64_t, double> runs, groups;  ///< share of the orders with so many
};

/// Every order of `a` ones among a + b places.
Counted count_out(unsigned a, unsigned b) {
    Counted counted;
    double orders = 0.0;
    for (unsigned mask = 0; mask < 1U << (a + b); ++mask) {
        unsigned ones = 0, runs = 1, groups = mask & 1U;
        for (unsigned i = 0; i < a + b; ++i) {
            const unsigned bit = (mask >> i) & 1U;
            ones += bit;
            if (i == 0) continue;
            const unsigned before = (mask >> (i - 1)) & 1U;
            runs += bit != before ? 1 : 0;
            groups += bit > before ? 1 : 0;
        }
        if (ones != a) continue;
        orders += 1.0;
        counted.runs[runs] += 1.0;
        counted.groups[groups] += 1.0;
    }
    for (auto* law : {&counted.runs, &counted.groups})
        for (auto& [count, share] : *law) share /= orders;
    return counted;
}

/// Twice the tail on that side of the mean.
double tail_of(const std::map<std::uint64_t, double>& law, std::uint64_t seen) {
    double mean = 0.0, low = 0.0, high = 0.0;
    for (const auto& [count, share] : law) {
        mean += static_cast<double>(count) * share;
        if (count <= seen) low += share;
        if (count >= seen) high += share;
    }
    return std::min(1.0, 2.0 * (static_cast<double>(seen) > mean ? high : low));
}

/// Every way to part `total` into `parts`: the chance, two-sided, of a sum of y (y - 1) as far out.
std::map<std::uint64_t, double> parted(std::uint64_t total, std::uint64_t parts) {
    std::map<std::uint64_t, double> law;
    std::vector<std::uint64_t> y(parts, 0);
    const auto next = [&](auto&& self, std::uint64_t left, std::size_t at) -> void {
        if (at + 1 == parts) {
            y[at] = left;
            std::uint64_t sum = 0;
            for (const std::uint64_t part : y) sum += part == 0 ? 0 : part * (part - 1);
            law[sum] += 1.0;
            return;
        }
        for (y[at] = 0; y[at] <= left; ++y[at]) self(self, left - y[at], at + 1);
    };
    next(next, total, 0);
    double ways = 0.0;
    for (const auto& [sum, count] : law) ways += count;
    for (auto& [sum, count] : law) count /= ways;
    return law;
}

}  // namespace

TEST_CASE("numbers of runs and of groups have the law that counting all orders gives") {
    struct Row {
        unsigned a, b;
    };
    for (const Row& row : {Row{3, 3}, {1, 7}, {7, 1}, {5, 9}, {9, 5}, {7, 8}, {2, 14}}) {
        const unsigned a = row.a, b = row.b;
        CAPTURE(a);
        CAPTURE(b);
        const Counted counted = count_out(a, b);
        for (const auto& [runs, share] : counted.runs)
            CHECK(tests::close_to(sim::runs_p(a, b, runs), tail_of(counted.runs, runs), 1e-12));
        for (const auto& [groups, share] : counted.groups)
            CHECK(tests::close_to(sim::groups_p(a, b, groups), tail_of(counted.groups, groups), 1e-12));
    }
}

// Swed and Eisenhart, Annals of Mathematical Statistics 14, 1943, table II: 6 runs or fewer are the 2.5 % point for 10
// and 10 (P = 0.019), 7 are not (P = 0.051); the values from memory.
TEST_CASE("the runs test agrees with the published table") {
    CHECK(tests::close_to(sim::runs_p(10, 10, 6) / 2, 0.019, 0.03));
    CHECK(tests::close_to(sim::runs_p(10, 10, 7) / 2, 0.051, 0.03));
}

TEST_CASE("for many values the runs test goes over into the normal law") {
    const double n = 2e6, deviation = std::sqrt(n) / 2.0;
    const auto runs = static_cast<std::uint64_t>(n / 2 + 1 - 3.0 * deviation);
    // 2 * 0.0013499 at three standard deviations, by any table of the normal law
    CHECK(tests::close_to(sim::runs_p(1'000'000, 1'000'000, runs), 0.0026998, 0.01));
    CHECK(sim::runs_p(1'000'000, 1'000'000, 2) == 0.0);
}

TEST_CASE("for few spacings their law finds rather too little than too much") {
    // every way counted out; six are far fewer than the law is made for
    const auto law = parted(40, 6);
    int compared = 0;
    for (const auto& one : law) {
        const std::uint64_t sum = one.first;
        const double exact = tail_of(law, sum);
        if (exact > 0.2 || exact < 1e-3) continue;
        CAPTURE(sum);
        CAPTURE(exact);
        const double found = sim::spacings_p(40, 6, static_cast<double>(sum));
        CHECK(found > exact / 2);
        CHECK(found < exact * 11);
        ++compared;
    }
    CHECK(compared > 20);
}

TEST_CASE("of spacings drawn at random as many are far out as the law says") {
    constexpr std::uint64_t places = 4000, chosen = 60;
    const sim::Random random(11, sim::Concern::delay);
    int under_5 = 0, under_1 = 0;
    constexpr int rounds = 4000;
    for (int round = 0; round < rounds; ++round) {
        std::vector<std::uint64_t> at;
        for (std::uint64_t draw = 0; at.size() < chosen; ++draw) {
            const std::uint64_t place = random.below(static_cast<std::uint64_t>(round) * 1000 + draw, places);
            if (std::find(at.begin(), at.end(), place) == at.end()) at.push_back(place);
        }
        std::sort(at.begin(), at.end());
        double sum = 0.0;
        for (std::size_t i = 1; i < at.size(); ++i) {
            const auto y = static_cast<double>(at[i] - at[i - 1] - 1);
            sum += y * (y - 1.0);
        }
        const double p = sim::spacings_p(at.back() - at.front() + 1 - chosen, chosen - 1, sum);
        under_5 += p < 0.05 ? 1 : 0;
        under_1 += p < 0.0125 ? 1 : 0;
    }
    // 4 standard deviations of the count, and a tenth for the law
    CHECK(std::abs(under_5 - 0.05 * rounds) < 4 * std::sqrt(0.05 * rounds) + 0.1 * 0.05 * rounds);
    CHECK(std::abs(under_1 - 0.0125 * rounds) < 4 * std::sqrt(0.0125 * rounds) + 0.1 * 0.0125 * rounds);
    MESSAGE(under_5 << " of " << rounds << " under 5 %, " << under_1 << " under 1.25 %");
}
