// Simulated years: jumps and the plain event loop follow the same law, on channels bad enough to compare. Each link is
// run by both methods in as many parts; what is counted in a part (rejections by each measure, trips at each end and by
// each cause, cycles stopped) is one sample. Parts are independent and many, so the difference of two means over its
// standard error is normal: a two-sided test at 1 in 10 000 each, and the sum of all squares against chi-square at
// 1 in 10 000 over everything. Seeds are fixed: the tests do not flicker.
#include "sim/drive/endurance.hpp"

#include <doctest/doctest.h>

#include <boost/math/distributions/chi_squared.hpp>
#include <cmath>
#include <string>
#include <vector>

#include "sim/drive/limits.hpp"
#include "sim/numeric/poisson_interval.hpp"
#include "tests/support/close.hpp"
#include "tests/support/effort.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::Duration;
using proto::Measure;
using proto::microseconds;
using proto::milliseconds;
using sim::EnduranceMethod;
using sim::EnduranceResult;
using sim::Scenario;
using tests::both_ends;

struct Unwatched final : sim::EnduranceMonitor {
    bool go_on(double) override { return true; }
};

EnduranceResult run(const Scenario& scenario, EnduranceMethod method, std::uint64_t seed, sim::EnduranceParts parts,
                    unsigned jobs = 1) {
    Unwatched nobody;
    return sim::endure({scenario, seed, parts, method, jobs}, nobody);
}

/// Counts of one part, by name.
struct Sample {
    std::vector<double> values;
};

const std::vector<std::string>& names() {
    static const std::vector<std::string> all = [] {
        std::vector<std::string> found;
        for (const char* const end : {"controller", "device"}) {
            for (unsigned m = 0; m < proto::measure_count; ++m)
                found.push_back(std::string(end) + " rejects by " + std::string(name_of(static_cast<Measure>(m))));
            found.push_back(std::string(end) + " trips by watchdog");
            found.push_back(std::string(end) + " trips by rejection");
        }
        found.emplace_back("acknowledgements");
        found.emplace_back("seconds stopped");
        return found;
    }();
    return all;
}

Sample sample_of(const EnduranceResult& r) {
    Sample sample;
    for (unsigned end = 0; end < 2; ++end) {
        for (const std::uint64_t count : r.rejected[end]) sample.values.push_back(static_cast<double>(count));
        sample.values.push_back(static_cast<double>(r.trips[end].by_watchdog));
        sample.values.push_back(static_cast<double>(r.trips[end].by_rejection));
    }
    sample.values.push_back(static_cast<double>(r.acknowledgements));
    sample.values.push_back(r.seconds_stopped);
    return sample;
}

struct Moments {
    double sum = 0.0, squares = 0.0, count = 0.0;
    void add(double value) {
        sum += value;
        squares += value * value;
        count += 1.0;
    }
    [[nodiscard]] double mean() const { return sum / count; }
    [[nodiscard]] double of_mean() const { return (squares / count - mean() * mean()) / (count - 1.0); }  // variance
};

struct Comparison {
    double chi_square = 0.0;
    double worst_z = 0.0;
    unsigned terms = 0;
    double trips = 0.0, rejections = 0.0;  ///< by the event loop
    std::uint64_t windows = 0;
    std::string text;
    [[nodiscard]] double p_value() const {
        return boost::math::cdf(boost::math::complement(boost::math::chi_squared(std::max(terms, 1U)), chi_square));
    }
};

constexpr std::uint64_t parts_each = 100;

/// Both methods over `cycles` each; what was counted less than 40 times in all is left out.
Comparison compare(const Scenario& loops, const Scenario& jumps, std::uint64_t cycles) {
    const Duration lasting = loops.controller.link.cycle * static_cast<std::int64_t>(cycles / parts_each);
    std::vector<Moments> a(names().size()), b(names().size());
    Comparison found;
    for (std::uint64_t part = 0; part < parts_each; ++part) {
        const Sample loop = sample_of(run(loops, EnduranceMethod::event_loop, 1000 + part, {1, lasting}));
        const EnduranceResult jumped = run(jumps, EnduranceMethod::jumps, 5000 + part, {1, lasting});
        CHECK(jumped.cycles == cycles / parts_each);
        found.windows += jumped.windows;
        const Sample jump = sample_of(jumped);
        for (std::size_t i = 0; i < names().size(); ++i) {
            a[i].add(loop.values[i]);
            b[i].add(jump.values[i]);
        }
    }
    for (std::size_t i = 0; i < names().size(); ++i) {
        if (names()[i].find("trips") != std::string::npos) found.trips += a[i].sum;
        if (names()[i].find("rejects") != std::string::npos) found.rejections += a[i].sum;
        if (a[i].sum + b[i].sum < 40.0 && names()[i] != "seconds stopped") continue;
        const double variance = a[i].of_mean() + b[i].of_mean();
        if (variance <= 0.0) {
            CHECK(a[i].sum == b[i].sum);
            continue;
        }
        const double z = (a[i].mean() - b[i].mean()) / std::sqrt(variance);
        found.worst_z = std::max(found.worst_z, std::abs(z));
        found.text += "\n  " + names()[i] + ": " + std::to_string(a[i].sum) + " by the event loop, " +
                      std::to_string(b[i].sum) + " by jumps, z " + std::to_string(z);
        // acknowledgements follow the trips, and so does the time stopped: not counted twice
        if (names()[i] == "acknowledgements" || names()[i] == "seconds stopped") continue;
        found.chi_square += z * z;
        ++found.terms;
    }
    return found;
}

Scenario quick(Scenario scenario) {
    both_ends(scenario, [](proto::LinkSettings& s) {
        s.cycle = s.scan = milliseconds(4);
        s.watchdog = s.peer_watchdog = milliseconds(13);
    });
    scenario.device_phase = milliseconds(2);
    for (sim::ChannelSettings* way : {&scenario.to_device, &scenario.to_controller}) {
        way->delay = {};
        way->delay.kind = sim::DelayShape::Kind::uniform;
        way->delay.low = microseconds(200);
        way->delay.high = microseconds(1500);
    }
    return scenario;
}

template <class Change>
Scenario with_channel(Scenario scenario, Change change) {
    change(scenario.to_device);
    change(scenario.to_controller);
    return scenario;
}

void react_by(Scenario& scenario, proto::Reaction reaction, Duration interval) {
    both_ends(scenario, [&](proto::LinkSettings& s) {
        s.reaction = reaction;
        s.error_interval = interval;
    });
}

struct Kind {
    std::string name;
    Scenario scenario;
};

std::vector<Kind> kinds() {
    std::vector<Kind> all;
    const auto bent = [](double rate) { return [rate](sim::ChannelSettings& c) { c.bit_error_rate = rate; }; };
    const auto bursts = [](sim::ChannelSettings& c) { c.bursts = sim::BurstLoss{0.002, 0.3, 0.001, 0.9}; };

    all.push_back({"polled, independent loss",
                   with_channel(quick(tests::polled_link()), [](sim::ChannelSettings& c) { c.loss = 0.08; })});

    Scenario s = with_channel(quick(tests::polled_link(tests::Carries::implied_number)), bent(2e-5));
    react_by(s, proto::Reaction::trip, {});
    all.push_back({"polled, bit errors, trip", s});

    s = with_channel(quick(tests::polled_link(tests::Carries::two_copies)), bent(2e-6));
    react_by(s, proto::Reaction::discard, proto::seconds(6));
    all.push_back({"polled, bit errors, discard", s});

    all.push_back({"polled, bursts of loss", with_channel(quick(tests::polled_link()), bursts)});

    s = with_channel(quick(tests::streaming_link(tests::Carries::feedback)), bursts);
    both_ends(s, [](proto::LinkSettings& l) {
        l.missing_allowed = 2;
        l.max_lag = 5;
    });
    all.push_back({"streaming, bursts of loss, lag", s});

    s = with_channel(quick(tests::streaming_link(tests::Carries::time_stamp)), bent(5e-6));
    react_by(s, proto::Reaction::discard, proto::seconds(20));
    both_ends(s, [](proto::LinkSettings& l) { l.missing_allowed = 1; });
    all.push_back({"streaming, bit errors, discard, stamps", s});

    // scans that beat, in-flight telegrams at each boundary, and a tail of delays over the scan and the watchdog
    s = quick(tests::polled_link());
    s.device.link.scan = milliseconds(3);
    s.device_phase = {};
    for (sim::ChannelSettings* way : {&s.to_device, &s.to_controller}) {
        way->loss = 0.002;
        way->delay = {};
        way->delay.kind = sim::DelayShape::Kind::histogram;
        way->delay.cells = {{microseconds(100), microseconds(900), 10'000},
                            {microseconds(1000), milliseconds(3), 30},
                            {milliseconds(3), milliseconds(20), 30}};
    }
    all.push_back({"polled, late telegrams, scans of 4 and 3 ms", s});

    s = quick(tests::streaming_link());
    for (sim::ChannelSettings* way : {&s.to_device, &s.to_controller}) {
        way->loss = 0.001;
        way->keep_order = false;
        way->delay = {};
        way->delay.kind = sim::DelayShape::Kind::histogram;
        way->delay.cells = {{milliseconds(8), microseconds(9500), 10'000}, {milliseconds(10), milliseconds(16), 20}};
    }
    both_ends(s, [](proto::LinkSettings& l) {
        l.missing_allowed = 1;
        l.watchdog = l.peer_watchdog = milliseconds(60);
    });
    react_by(s, proto::Reaction::discard, proto::seconds(5));
    all.push_back({"streaming, overtaking, three on the way", s});
    return all;
}

/// Enough of them for counts that can be compared, also where other tests are made shallow.
std::uint64_t compared_cycles() {
    constexpr std::uint64_t least = 300'000;
    return std::max(least, tests::cycles_wanted(500'000, 20'000'000));
}

}  // namespace

TEST_CASE("R-90 jumps and the event loop follow the same law on channels with many faults and many trips") {
    const std::uint64_t cycles = compared_cycles();
    double chi_square = 0.0;
    unsigned terms = 0;
    for (const Kind& kind : kinds()) {
        CAPTURE(kind.name);
        REQUIRE(sim::endurance_outlook(kind.scenario).method == EnduranceMethod::jumps);
        const Comparison found = compare(kind.scenario, kind.scenario, cycles);
        CAPTURE(found.text);
        MESSAGE(kind.name << ": p " << found.p_value() << " over " << found.terms << " counts, worst z "
                          << found.worst_z << ", trips " << found.trips << ", rejections " << found.rejections
                          << ", windows " << found.windows);
        CHECK(found.terms >= 1);
        CHECK(found.trips >= 30.0);
        CHECK(found.windows >= 100);
        CHECK(found.worst_z < 3.89);  // two-sided 1 in 10 000
        CHECK(found.p_value() > 1e-4);
        chi_square += found.chi_square;
        terms += found.terms;
    }
    const double p = boost::math::cdf(boost::math::complement(boost::math::chi_squared(terms), chi_square));
    MESSAGE("all together: p " << p << " over " << terms << " counts");
    CHECK(p > 1e-4);
}

TEST_CASE("R-90 the comparison of jumps and event loop sees a law that is a quarter off") {
    const std::uint64_t cycles = compared_cycles();
    const Scenario right = kinds()[1].scenario;  // bit errors: the richest in counts
    const Scenario wrong = with_channel(right, [](sim::ChannelSettings& c) { c.bit_error_rate *= 1.25; });
    CHECK(compare(right, wrong, cycles).p_value() < 1e-4);
}

TEST_CASE("R-90 simulated years are the same again, on one thread and on two") {
    for (const Kind& kind : kinds()) {
        CAPTURE(kind.name);
        const sim::EnduranceParts parts{6, proto::seconds(40)};
        for (const EnduranceMethod method : {EnduranceMethod::jumps, EnduranceMethod::event_loop}) {
            const EnduranceResult one = run(kind.scenario, method, 7, parts);
            const EnduranceResult two = run(kind.scenario, method, 7, parts, 2);
            CHECK(one.digest == two.digest);
            CHECK(sample_of(one).values == sample_of(two).values);
            CHECK(one.cycles == two.cycles);
            CHECK(one.windows == two.windows);
            CHECK(one.digest != run(kind.scenario, method, 8, parts).digest);
        }
    }
}

TEST_CASE("R-90 a channel without faults passes a century at once, whatever the exchange") {
    for (const tests::Carries what : {tests::Carries::everything, tests::Carries::two_copies,
                                      tests::Carries::implied_number, tests::Carries::implied_addresses}) {
        for (const Scenario& scenario : {tests::polled_link(what), tests::streaming_link(what)}) {
            const sim::EnduranceParts parts = sim::parts_of_years(100.0);
            CHECK(parts.count == 256);
            const EnduranceResult result = run(scenario, EnduranceMethod::jumps, 1, parts);
            CHECK(result.parts_done == parts.count);
            CHECK(result.spurious() == 0);
            CHECK(result.dangerous == 0);
            CHECK(result.link_started);
            CHECK(result.cycles_in_full < 256 * 40);
            CHECK(tests::close_to(static_cast<double>(result.cycles), 100.0 * 365.25 * 86400.0 / 0.010, 1e-9));
        }
    }
}

TEST_CASE("R-72 an error interval runs through jumps") {
    // Errors at the device alone, far apart: a second one stops if the last was less than the interval ago. With the
    // rate r of errors and the interval I, the share 1 - exp(-r I) of them stops.
    Scenario scenario = quick(tests::polled_link());
    scenario.to_device.bit_error_rate = 1e-7;
    react_by(scenario, proto::Reaction::discard, proto::seconds(360));
    const sim::EnduranceParts parts{20, proto::seconds(86400)};
    const EnduranceResult result = run(scenario, EnduranceMethod::jumps, 3, parts);
    const auto errors = static_cast<double>(result.rejected[1][static_cast<std::size_t>(Measure::integrity)]);
    const auto trips = static_cast<double>(result.trips[1].by_rejection);
    CHECK(result.trips[0].all() + result.trips[1].by_watchdog == 0);
    CHECK(errors > 2000.0);
    const double share = 1.0 - std::exp(-errors / result.seconds * 360.0);
    const double error = std::sqrt(share * (1.0 - share) / errors);
    CHECK(tests::close_to(trips / errors, share, 4.5 * error / share));
}

TEST_CASE("without an operator a stopped link stays stopped, and a link that is set differently never runs") {
    Scenario scenario = quick(tests::polled_link());
    scenario.to_device.bit_error_rate = 1e-6;
    scenario.operator_acts.clear();
    EnduranceResult result = run(scenario, EnduranceMethod::jumps, 1, {1, proto::seconds(1'000'000)});
    CHECK(result.spurious() == 1);
    CHECK(result.seconds_stopped > 0.9 * result.seconds);

    scenario.device.link.own_address = 0x77;
    result = run(scenario, EnduranceMethod::jumps, 1, {4, proto::seconds(1'000'000)});
    CHECK_FALSE(result.link_started);
}

TEST_CASE("what cannot be passed over is named") {
    Scenario scenario = quick(tests::polled_link());
    sim::EnduranceOutlook outlook = sim::endurance_outlook(scenario);
    CHECK(outlook.method == EnduranceMethod::jumps);
    CHECK(outlook.period == milliseconds(4));
    CHECK(outlook.strange_per_period == 0.0);

    scenario.to_device.queue = sim::BackgroundTraffic{};
    outlook = sim::endurance_outlook(scenario);
    CHECK(outlook.method == EnduranceMethod::event_loop);
    CHECK(outlook.why.find("queue") != std::string::npos);

    scenario = quick(tests::polled_link());
    scenario.device.link.scan = microseconds(4001);
    CHECK(sim::endurance_outlook(scenario).method == EnduranceMethod::event_loop);

    scenario = quick(tests::polled_link());
    scenario.to_device.delay.high = milliseconds(12);
    CHECK(sim::endurance_outlook(scenario).method == EnduranceMethod::event_loop);
}

TEST_CASE("the interval of a Poisson count, against chi-square quantiles by Boost.Math") {
    for (const std::uint64_t seen : {0ULL, 1ULL, 2ULL, 5ULL, 17ULL, 100ULL, 3000ULL, 9000ULL, 9001ULL, 100'000ULL}) {
        CAPTURE(seen);
        const auto k = static_cast<double>(seen);
        const sim::Interval interval = sim::poisson_interval(seen);
        const double close = seen > 9000 ? 1e-6 : 1e-9;
        if (seen == 0) {
            CHECK(interval.low == 0.0);
        } else {
            const double low = boost::math::quantile(boost::math::chi_squared(2.0 * k), 0.025) / 2.0;
            CHECK(tests::close_to(interval.low, low, close));
        }
        const double high =
            boost::math::quantile(boost::math::complement(boost::math::chi_squared(2.0 * k + 2.0), 0.025)) / 2.0;
        CHECK(tests::close_to(interval.high, high, close));
    }
}
