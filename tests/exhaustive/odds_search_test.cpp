// Random links, and for each the odds of a stop for nothing beside what the full simulation counts: in its event loop
// where stops are frequent, over simulated years with quiet cycles passed over where they are rare. Exact odds must
// hold for every link; those by walks have an interval of 95 %, and none may be disjoint from what was counted with
// both at 99.99 %. What is too rare to be counted gets shorter watchdogs until it is not. Seeds are fixed, so the test
// does not flicker; LINKDRILL_ODDS_LINKS sets how many links are drawn.
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include <doctest/doctest.h>

#include "sim/channel/delay_shapes.hpp"
#include "sim/drive/endurance.hpp"
#include "sim/numeric/random.hpp"
#include "sim/odds/trip_odds.hpp"
#include "sim/timing/bounds.hpp"
#include "tests/support/counted_stops.hpp"
#include "tests/support/effort.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::Duration;
using proto::microseconds;
using proto::milliseconds;
using sim::DelayShape;
using sim::Scenario;

class Picks {
  public:
    explicit Picks(std::uint64_t link) : draws_(20'261'129, sim::Concern::trial, link) {}
    int below(int count) { return static_cast<int>(draws_.at(made_++) % static_cast<std::uint64_t>(count)); }
    double even() { return static_cast<double>(draws_.at(made_++) >> 11) * 0x1p-53; }
    bool one_in(int count) { return below(count) == 0; }

  private:
    sim::Random draws_;
    std::uint64_t made_ = 0;
};

/// As measured: most alike, and a few late ones.
DelayShape seen(Picks& picks, Duration low) {
    std::vector<Duration> times;
    constexpr int count = 400;
    for (int i = 0; i < count; ++i) times.push_back(low + microseconds(picks.below(600)));
    for (int i = picks.below(4); i >= 0; --i) times.push_back(low + microseconds(picks.below(60'000)));
    DelayShape shape = sim::histogram_of_seen(times);
    shape.samples = 0;  // what might be longer is not asked about here
    return shape;
}

DelayShape delay_of(Picks& picks) {
    const Duration low = microseconds(100 + picks.below(14'000));
    switch (picks.below(6)) {
        case 0:
        case 1: return {DelayShape::Kind::constant, low, low, {}};
        case 2: return {DelayShape::Kind::uniform, low, low + microseconds(50 + picks.below(400)), {}};
        case 3: return {DelayShape::Kind::uniform, low, low + microseconds(1000 + picks.below(9000)), {}};
        case 4: return seen(picks, low);
        default:
            return histogram_of(sim::GammaDelay{
                .offset = low, .mean = microseconds(500 + picks.below(2000)), .alpha = 1.0 + 3.0 * picks.even()});
    }
}

Scenario link_of(Picks& picks) {
    constexpr int cycles_us[] = {4000, 5000, 8000, 10'000, 12'000};
    constexpr int scans_us[] = {1000, 2000, 2500, 3000, 4000, 5000, 6000, 7500, 10'000, 15'000};
    Scenario s = picks.one_in(6)
                     ? tests::streaming_link(picks.one_in(2) ? tests::Carries::feedback : tests::Carries::time_stamp)
                     : tests::polled_link();
    const Duration cycle = microseconds(cycles_us[picks.below(5)]);
    const Duration scan = microseconds(scans_us[picks.below(10)]);
    tests::both_ends(s, [&](proto::LinkSettings& link) { link.cycle = link.scan = cycle; });
    s.device.link.scan = scan;
    s.device_phase = microseconds(picks.below(static_cast<int>(scan.ns / 1000)));
    for (sim::ChannelSettings* way : {&s.to_device, &s.to_controller}) {
        way->delay = delay_of(picks);
        way->loss = std::pow(10.0, -1.7 - 4.3 * picks.even());
        if (picks.one_in(6)) {
            way->loss = 0.0;
            way->bursts = sim::BurstLoss{.good_to_bad = std::pow(10.0, -2.0 - 2.0 * picks.even()),
                                         .bad_to_good = 0.2 + 0.6 * picks.even(),
                                         .in_good = 0.0,
                                         .in_bad = 0.5 + 0.5 * picks.even()};
        }
        way->keep_order = !picks.one_in(10);
        if (picks.one_in(12)) {
            const double load = 0.3 + 0.4 * picks.even();
            way->queue = sim::BackgroundTraffic{
                sim::BackgroundTraffic::Kind::bursts, microseconds(200), load, 20, milliseconds(200), load, {}, {}};
        }
    }
    // an exchange by its longest delays and scans, and some cycles more
    const Duration longest = longest_of(s.to_device.delay) + longest_of(s.to_controller.delay) + scan + cycle;
    const auto watchdog = [&] {
        const double share = 0.8 + 0.6 * picks.even();
        const auto ns = static_cast<std::int64_t>(share * static_cast<double>(longest.ns + cycle.ns)) / 1000 * 1000;
        return std::max(Duration{ns}, cycle + microseconds(100));
    };
    if (s.controller.link.exchange == proto::Exchange::streaming) {
        tests::both_ends(s, [&](proto::LinkSettings& link) {
            link.missing_allowed = static_cast<unsigned>(picks.below(4));
            if (link.max_lag) link.max_lag = static_cast<unsigned>(longest.ns / link.scan.ns + 1 + picks.below(4));
            if (link.max_age.ns != 0) link.max_age = longest + milliseconds(picks.below(30));
        });
    } else if (picks.one_in(5)) {
        s.device.link.answers = proto::Answers::one_a_scan;
    }
    const Duration controller = watchdog();
    tests::set_watchdogs(s, controller, picks.one_in(3) ? watchdog() : controller);
    s.operator_acts = {{sim::OperatorAct::Event::acknowledgement_requested,
                        sim::OperatorAct::Act::acknowledge,
                        milliseconds(500),
                        {}}};
    return s;
}

struct Unwatched final : sim::EnduranceMonitor {
    bool go_on(double) override { return true; }
};

/// Some sixty stops, as far as they can be had in a few seconds; nothing where they cannot.
std::optional<tests::Counted> truth_of(const Scenario& s, double stops_per_year, std::uint64_t seed) {
    constexpr double wanted = 60.0;
    const double cycles_per_year = sim::hours_per_year * 3600e9 / static_cast<double>(s.controller.link.cycle.ns);
    const double cycles = wanted / stops_per_year * cycles_per_year;
    constexpr double cycles_in_full = 1'500'000.0;
    if (cycles <= cycles_in_full)
        return tests::simulate(s, std::max<std::int64_t>(static_cast<std::int64_t>(cycles), 2000), seed);
    const sim::EnduranceOutlook outlook = endurance_outlook(s);
    const double years = wanted / stops_per_year;
    constexpr double seconds_most = 4.0, years_most = 100'000.0;
    if (outlook.method != sim::EnduranceMethod::jumps || years * outlook.seconds_per_year > seconds_most ||
        years > years_most)
        return std::nullopt;
    Unwatched nobody;
    const sim::EnduranceResult result =
        sim::endure({s, seed, sim::parts_of_years(years), sim::EnduranceMethod::jumps, 1}, nobody);
    constexpr double seconds_per_year = sim::hours_per_year * 3600.0;
    return tests::Counted{result.spurious(), (result.seconds - result.seconds_stopped) / seconds_per_year};
}

struct Sum {
    int exact = 0, walked = 0, outside = 0, beyond_reach = 0, never = 0;
};

std::optional<tests::Counted> count(const Scenario& s, const sim::TripOdds& odds, std::uint64_t seed) {
    const double about = odds.claimed ? odds.per_year : odds.high.value_or(0.0);
    // a link that stops every few cycles hardly ever runs, and its running time is no figure
    const double cycles_per_year = sim::hours_per_year * 3600e9 / static_cast<double>(s.controller.link.cycle.ns);
    constexpr double hopeless = 0.02;
    if (std::max(about, odds.high.value_or(0.0)) > hopeless * cycles_per_year) return std::nullopt;
    std::optional<tests::Counted> counted = about > 0.0 ? truth_of(s, about, seed) : std::nullopt;
    return counted && counted->years > 0.0 ? counted : std::nullopt;
}

/// A cycle less for both watchdogs; false where that leaves too little.
bool shorten(Scenario& s) {
    const Duration cycle = s.controller.link.cycle;
    const Duration controller = s.controller.link.watchdog - cycle, device = s.device.link.watchdog - cycle;
    if (std::min(controller, device) < cycle + microseconds(100)) return false;
    tests::set_watchdogs(s, controller, device);
    return true;
}

std::string in_words(const Scenario& s) {
    const auto way = [](const sim::ChannelSettings& channel) {
        return std::to_string(shortest_of(channel.delay).ns) + ".." + std::to_string(longest_of(channel.delay).ns) +
               " ns kind " + std::to_string(static_cast<int>(channel.delay.kind)) + " loss " +
               std::to_string(channel.loss) + (channel.bursts ? " in bursts" : "") + (channel.queue ? " queue" : "") +
               (channel.keep_order ? "" : " overtaking");
    };
    const proto::LinkSettings& c = s.controller.link;
    const proto::LinkSettings& d = s.device.link;
    return std::string(c.exchange == proto::Exchange::polled ? "polled" : "streaming") +
           (d.answers == proto::Answers::each ? "" : ", one answer") + ", cycle " + std::to_string(c.cycle.ns) +
           ", scan " + std::to_string(d.scan.ns) + ", phase " + std::to_string(s.device_phase.ns) + ", watchdogs " +
           std::to_string(c.watchdog.ns) + " " + std::to_string(d.watchdog.ns) + ", missing " +
           std::to_string(d.missing_allowed) + "; out " + way(s.to_device) + "; back " + way(s.to_controller);
}

void check_link(std::uint64_t number, Sum& sum) {
    Picks picks(number);
    Scenario s = link_of(picks);
    sim::TripOdds odds = trip_odds(model_of(s), {});
    std::optional<tests::Counted> counted = count(s, odds, number);
    for (int shorter = 0; shorter < 8 && !counted && shorten(s); ++shorter) {
        odds = trip_odds(model_of(s), {});
        counted = count(s, odds, number);
    }
    CAPTURE(number);
    CAPTURE(in_words(s));
    CAPTURE(odds.method);
    CAPTURE(odds.low);
    CAPTURE(odds.high.value_or(-1.0));
    if (odds.high && *odds.high <= 0.0) {
        ++sum.never;
        CHECK(tests::simulate(s, 20'000, number).stops == 0);
        return;
    }
    if (!counted) {
        ++sum.beyond_reach;
        return;
    }
    constexpr double both_at = 1e-4;
    const tests::Interval interval = tests::garwood(counted->stops, both_at);
    CAPTURE(counted->stops);
    CAPTURE(counted->years);
    const double counted_low = interval.low / counted->years, counted_high = interval.high / counted->years;
    CAPTURE(counted_low);
    CAPTURE(counted_high);
    if (odds.method.starts_with("exact chain")) {
        ++sum.exact;
        CHECK(counted_high >= odds.low);
        CHECK(counted_low <= odds.high.value_or(1e300));
        return;
    }
    ++sum.walked;
    const double rate = static_cast<double>(counted->stops) / counted->years;
    // Student's t with 15 degrees of freedom: 2.131 at 95 %, 5.2 at 99.99 %
    constexpr double wider = 5.2 / 2.131;
    const double low = odds.per_year - wider * (odds.per_year - odds.low);
    const double high = odds.high ? odds.per_year + wider * (*odds.high - odds.per_year) : 1e300;
    // what was counted is uncertain too
    const double by_walks = (odds.high.value_or(1e300) - odds.low) / 2.0 / 2.131;
    const double by_count = std::sqrt(static_cast<double>(std::max<std::uint64_t>(counted->stops, 1))) / counted->years;
    if (std::fabs(rate - odds.per_year) > 2.131 * std::hypot(by_walks, by_count)) ++sum.outside;
    CHECK(counted_high >= low);
    CHECK(counted_low <= high);
}

}  // namespace

TEST_CASE("the odds of random links hold what the full simulation counts") {
    // "2000", or "500+1500" for those after the first 500
    const char* const asked = std::getenv("LINKDRILL_ODDS_LINKS");
    int first = 0, links = tests::depth_wanted() < 6 ? 10 : 60;
    if (asked != nullptr) {
        char* end = nullptr;
        links = static_cast<int>(std::strtol(asked, &end, 10));
        if (*end == '+') first = std::exchange(links, static_cast<int>(std::strtol(end + 1, nullptr, 10)));
    }
    Sum sum;
    for (int i = first; i < first + links; ++i) check_link(static_cast<std::uint64_t>(i), sum);
    MESSAGE(sum.exact << " exact, " << sum.walked << " walked (" << sum.outside << " outside at 95 %), " << sum.never
                      << " that never stop, " << sum.beyond_reach << " too rare to be counted");
    CHECK(sum.exact >= links / 10);
    CHECK(sum.outside <= std::max(3, sum.walked * 130 / 2000));
}
