#include "tools/roundtrips/finding.hpp"

#include <utility>

#include "tools/text/text.hpp"

namespace tools {
namespace {

RoundTripVerdict verdict_of(const RoundTripFinding& found) {
    const sim::RoundTrips& trips = found.outcome.trips;
    if (found.outcome.refused && !found.some()) return RoundTripVerdict::refused;
    if (!found.some()) return RoundTripVerdict::not_measured;
    const bool late = found.figures.own_lateness->p99 > found.asked.cycle;
    const bool thin = trips.not_sent * 100 > trips.not_sent + trips.sent.size();
    return late || thin ? RoundTripVerdict::not_believed : RoundTripVerdict::measured;
}

}  // namespace

RoundTripFinding finding_of(sim::AskOptions asked, sim::AskOutcome outcome, std::string folder) {
    RoundTripFinding found{std::move(asked), std::move(outcome), {}, {}, {}, std::move(folder)};
    found.figures = sim::figures_of(found.outcome.trips);
    found.gaps = sim::gaps_of(found.outcome.trips);
    found.verdict = verdict_of(found);
    return found;
}

std::string belief_in_words() {
    return "99 of 100 datagrams must leave within a cycle of when they were planned, and no more than one of 100 may "
           "not leave at all";
}

std::string round_trips_key() {
    return R"(delay = { file = ")" + std::string(round_trips_csv) + R"(", no_answer = "losses" })";
}

std::string fine_ms(proto::Duration time) {
    constexpr std::int64_t us = 1'000, ms = 1'000'000;
    struct Step {
        std::int64_t under, unit;
        std::size_t decimals;
    };
    for (const Step step : {Step{ms, us, 3}, Step{10 * ms, 10 * us, 2}, Step{100 * ms, 100 * us, 1}}) {
        const std::int64_t rounded = (time.ns + step.unit - 1) / step.unit;
        if (rounded * step.unit >= step.under) continue;
        std::string digits = std::to_string(rounded);
        digits.insert(0, digits.size() <= step.decimals ? step.decimals + 1 - digits.size() : 0, '0');
        return digits.insert(digits.size() - step.decimals, 1, '.') + " ms";
    }
    return grouped(static_cast<std::uint64_t>((time.ns + ms - 1) / ms)) + " ms";
}

}  // namespace tools
