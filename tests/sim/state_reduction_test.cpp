// Taking states out of a chain, beside closed forms and beside following it step by step.
#include <cmath>
#include <cstddef>
#include <numeric>
#include <vector>

#include <doctest/doctest.h>

#include "sim/numeric/random.hpp"
#include "sim/odds/state_reduction.hpp"
#include "tests/support/close.hpp"

namespace {

constexpr std::size_t cause = 0;
constexpr std::uint64_t enough = 1'000'000'000;

void add_stop(sim::StateReduction& chain, std::size_t state, double probability) {
    chain.add_stop(state, probability);
    chain.sums_of(state).stops[cause] += probability;
}

}  // namespace

// A run of k failures: the mean number of trials is (1 - p^k) / (p^k (1 - p)) (Feller, An Introduction to Probability
// Theory, XIII.7).
TEST_CASE("a run of failures takes as long as the closed form says, however rare it is") {
    for (const double p : {0.3, 1e-3, 1e-9}) {
        for (const unsigned k : {1U, 3U, 20U}) {
            sim::StateReduction chain;
            for (unsigned i = 0; i < k; ++i) {
                chain.add_state();
                chain.sums_of(i).time = 1.0;
            }
            for (unsigned i = 0; i < k; ++i) {
                chain.add_step(i, 0, 1.0 - p);
                if (i + 1 < k)
                    chain.add_step(i, i + 1, p);
                else
                    add_stop(chain, i, p);
            }
            const double run = std::pow(p, k);
            if (!(run > 1e-290)) continue;
            CAPTURE(p);
            CAPTURE(k);
            REQUIRE(chain.solve(1, enough));
            REQUIRE(chain.until_stop(0) != nullptr);
            CHECK(tests::close_to(chain.until_stop(0)->time, (1.0 - run) / (run * (1.0 - p)), 1e-12));
            CHECK(tests::close_to(chain.until_stop(0)->stops[cause], 1.0, 1e-12));
        }
    }
}

TEST_CASE("random chains take as long as they take step by step") {
    const sim::Random draws(5, sim::Concern::trial, 0);
    std::uint64_t made = 0;
    const auto even = [&] { return static_cast<double>(draws.at(made++) >> 11) * 0x1p-53; };
    for (int repeat = 0; repeat < 20; ++repeat) {
        constexpr std::size_t states = 30, kept = 3;
        std::vector<std::vector<double>> to(states, std::vector<double>(states + 1));
        for (auto& row : to) {
            for (double& one : row) one = even() < 0.2 ? even() : 0.0;
            row[states] += 0.05;
            const double sum = std::accumulate(row.begin(), row.end(), 0.0);
            for (double& one : row) one /= sum;
        }
        sim::StateReduction chain;
        for (std::size_t i = 0; i < states; ++i) chain.sums_of(chain.add_state()).time = 1.0;
        for (std::size_t i = 0; i < states; ++i) {
            for (std::size_t j = 0; j < states; ++j) chain.add_step(i, j, to[i][j]);
            add_stop(chain, i, to[i][states]);
        }
        REQUIRE(chain.solve(kept, enough));
        for (std::size_t start = 0; start < kept; ++start) {
            std::vector<double> now(states, 0.0);
            now[start] = 1.0;
            double time = 0.0, left = 1.0;
            for (int step = 0; step < 100'000 && left > 1e-17; ++step) {
                time += left;
                std::vector<double> next(states, 0.0);
                for (std::size_t i = 0; i < states; ++i)
                    for (std::size_t j = 0; j < states; ++j) next[j] += now[i] * to[i][j];
                left = 0.0;
                for (const double one : next) left += one;
                now = next;
            }
            CHECK(tests::close_to(chain.until_stop(start)->time, time, 1e-9));
        }
    }
}

TEST_CASE("what may run for ever has no mean, and the others have theirs") {
    sim::StateReduction chain;
    for (int i = 0; i < 4; ++i) chain.sums_of(chain.add_state()).time = 1.0;
    chain.add_step(0, 2, 0.5);  // into a state that stays
    chain.add_step(0, 3, 0.5);
    chain.add_step(1, 3, 1.0);
    chain.add_step(2, 2, 1.0);
    add_stop(chain, 3, 1.0);
    REQUIRE(chain.solve(2, enough));
    CHECK(chain.until_stop(0) == nullptr);
    REQUIRE(chain.until_stop(1) != nullptr);
    CHECK(chain.until_stop(1)->time == 2.0);
}

TEST_CASE("a chain that is too dear to solve says so") {
    sim::StateReduction chain;
    constexpr std::size_t states = 60;
    for (std::size_t i = 0; i < states; ++i) chain.sums_of(chain.add_state()).time = 1.0;
    for (std::size_t i = 0; i < states; ++i) {
        for (std::size_t j = 0; j < states; ++j) chain.add_step(i, j, 0.99 / states);
        add_stop(chain, i, 0.01);
    }
    CHECK_FALSE(chain.solve(1, 1000));
}
