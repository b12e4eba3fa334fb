#include "sim/drive/endurance_part.hpp"

#include <numeric>
#include <utility>

#include "proto/contract.hpp"
#include "sim/numeric/portable_math.hpp"

namespace sim {
namespace {

/// A link that does not run by then never will.
constexpr Duration start_at_most = proto::seconds(600);

/// -log(1 - p) without cancellation; 0 <= p < 1.
double rarity(double p) {
    if (p > 1e-3) return -portable_log(1.0 - p);
    return p * (1.0 + p * (1.0 / 2 + p * (1.0 / 3 + p * (1.0 / 4 + p * (1.0 / 5)))));
}

}  // namespace

EndurancePart::Totals EndurancePart::Totals::of(const proto::Endpoint& endpoint) {
    const proto::Counters& c = endpoint.counters();
    return {c.accepted, c.repeats, c.sent,
            std::accumulate(c.rejected.begin(), c.rejected.end(), c.ignored + c.queue_full)};
}

EndurancePart::EndurancePart(const Scenario& scenario, const Limits& limits, std::uint64_t seed,
                             std::optional<Duration> period)
    : run_(scenario, seed, Faults::none, limits), draws_(seed, Concern::jump, 2), period_(period) {
    if (!period_) return;
    auto out = quiet_of(scenario, Direction::to_device, *period_, seed);
    auto back = quiet_of(scenario, Direction::to_controller, *period_, seed);
    proto::require(out && back, "jumps over telegrams that are never alike");
    run_.cell.channel().foresee(std::move(*out), std::move(*back));
}

void EndurancePart::tell(EnduranceResult& result) {
    RunResult seen;
    run_.finish(seen, run_.cell.now());
    const Observer& observer = run_.observer;
    for (const End end : {End::controller, End::device}) {
        const auto i = static_cast<std::size_t>(end);
        const SpuriousTrips& trips = observer.spurious_trips(end);
        result.trips[i].by_watchdog += trips.by_watchdog;
        result.trips[i].by_rejection += trips.by_rejection;
        const auto& rejected = run_.cell.link().end(end).endpoint().counters().rejected;
        for (std::size_t m = 0; m < rejected.size(); ++m) result.rejected[i][m] += rejected[m];
    }
    result.seconds += static_cast<double>(run_.cell.now().ns) * 1e-9;
    result.cycles += run_.cell.cycles();
    result.cycles_in_full += run_.cell.cycles() - cycles_passed_;
    result.windows += windows_;
    result.acknowledgements += seen.acknowledgements;
    result.seconds_stopped += static_cast<double>(stopped_.ns) * 1e-9;
    result.dangerous += observer.dangerous_events();
    if (result.first_dangerous.empty()) result.first_dangerous = std::move(seen.dangerous);
    result.link_started = result.link_started && started_;
    result.digest = scramble(result.digest ^ seen.digest);
    ++result.parts_done;
}

void EndurancePart::note(Instant since) {
    if (run_.cell.link().running())
        started_ = true;
    else
        stopped_ = stopped_ + (run_.cell.now() - since);
}

bool EndurancePart::never_starts() const { return !started_ && run_.cell.now() - Instant{} > start_at_most; }

void EndurancePart::try_jump(Instant end) {
    Channel& channel = run_.cell.channel();
    const bool quiet = channel.strange() == strange_;
    strange_ = channel.strange();
    std::optional<std::uint64_t> standing;
    if (quiet) standing = passing_.standing();
    if (!standing) {
        marks_ = 0;
        channel.forget_places();
        return;
    }
    // the new mark overwrites the oldest: a ring whose vectors keep their room
    newest_ = (newest_ + 1) % ring_.size();
    Mark& mark = ring_[newest_];
    mark.standing = *standing;
    mark.totals = {Totals::of(run_.cell.link().end(End::controller).endpoint()),
                   Totals::of(run_.cell.link().end(End::device).endpoint())};
    mark.cycles = run_.cell.cycles();
    mark.dangerous = run_.observer.dangerous_events();
    for (const Direction direction : {Direction::to_device, Direction::to_controller})
        mark.places[static_cast<std::size_t>(direction)] = channel.places(direction);
    channel.forget_places();
    marks_ = std::min(marks_ + 1, ring_.size());
    for (std::size_t back = 1; back < marks_; ++back) {
        if (mark_at(back).standing != mark.standing) continue;
        if (jump(back, end)) marks_ = 0;
        return;
    }
}

std::optional<PassingOver::Period> EndurancePart::period_back(std::size_t back) const {
    const Mark& now = mark_at(0);
    const Mark& before = mark_at(back);
    PassingOver::Period period;
    const Duration lasting = *period_ * static_cast<std::int64_t>(back);
    for (std::size_t i = 0; i < 2; ++i) {
        const Totals& a = before.totals[i];
        const Totals& b = now.totals[i];
        if (a.others != b.others) return std::nullopt;
        period.ends[i] = {lasting, b.accepted - a.accepted, b.repeats - a.repeats, b.sent - a.sent};
    }
    if (now.dangerous != before.dangerous) return std::nullopt;  // each of these is to be counted
    period.cycles = now.cycles - before.cycles;
    return period;
}

bool EndurancePart::list_telegrams(std::size_t back, PassingOver::Period& period, double& rare) {
    telegrams_.clear();
    rare = 0.0;
    for (const Direction direction : {Direction::to_device, Direction::to_controller}) {
        const auto way = static_cast<std::size_t>(direction);
        const QuietTelegrams& quiet = run_.cell.channel().quiet(direction);
        for (std::size_t k = back; k-- > 0;) {
            const std::vector<std::uint16_t>& places = mark_at(k).places[way];
            for (std::size_t i = 0; i < places.size(); ++i) {
                if (!quiet.keeps_order() && i > 0 && places[i] == places[i - 1]) return false;
                const double strange = quiet.strange(places[i]);
                if (strange >= 1.0) return false;
                rare += rarity(strange);
                telegrams_.push_back({direction, period.telegrams[way]++, strange});
            }
        }
    }
    return true;
}

bool EndurancePart::jump(std::size_t back, Instant end) {
    std::optional<PassingOver::Period> period = period_back(back);
    double rare = 0.0;
    if (!period || !list_telegrams(back, *period, rare)) return false;
    const Instant until = std::min(end, run_.cell.acts().agenda().next());
    const std::int64_t most = (until - run_.cell.now()).ns / period->ends[0].lasting.ns;
    if (most <= 0) return false;
    // P(at least n quiet periods) = exp(-n rare)
    const double even = (static_cast<double>(draws_.at(made_++)) + 1.0) * 0x1p-64;
    const double gap = rare > 0.0 ? -portable_log(even) / rare : static_cast<double>(most);
    if (gap >= static_cast<double>(most)) {
        pass(static_cast<std::uint64_t>(most), *period);
        foretell(telegrams_.size(), Channel::Then::as_drawn);
        return true;
    }
    if (gap >= 1.0) pass(static_cast<std::uint64_t>(gap), *period);
    foretell(first_strange(), Channel::Then::strange);
    ++windows_;
    return true;
}

std::size_t EndurancePart::first_strange() {
    any_.assign(telegrams_.size() + 1, 0.0);
    for (std::size_t i = telegrams_.size(); i-- > 0;)
        any_[i] = telegrams_[i].strange + (1.0 - telegrams_[i].strange) * any_[i + 1];
    std::size_t i = 0;
    while (static_cast<double>(draws_.at(made_++) >> 11) * 0x1p-53 * any_[i] >= telegrams_[i].strange) ++i;
    return i;
}

void EndurancePart::foretell(std::size_t strange, Channel::Then then) {
    std::array<std::uint64_t, 2> ordinary{};
    const bool some = then == Channel::Then::strange;
    if (some)
        for (std::size_t i = 0; i < strange; ++i) ++ordinary[static_cast<std::size_t>(telegrams_[i].direction)];
    for (const Direction direction : {Direction::to_device, Direction::to_controller})
        run_.cell.channel().foretell(
            direction, ordinary[static_cast<std::size_t>(direction)],
            some && telegrams_[strange].direction == direction ? then : Channel::Then::as_drawn);
}

void EndurancePart::pass(std::uint64_t periods, const PassingOver::Period& period) {
    passing_.skip(periods, period);
    cycles_passed_ += periods * period.cycles;
    if (!run_.cell.link().running()) stopped_ = stopped_ + period.ends[0].lasting * static_cast<std::int64_t>(periods);
}

}  // namespace sim
