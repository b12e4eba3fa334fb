#include "sim/drive/join.hpp"

#include <algorithm>
#include <limits>
#include <span>
#include <utility>
#include <variant>

#include "sim/drive/brought_together.hpp"
#include "sim/drive/by_hand.hpp"
#include "sim/drive/live_round_trips.hpp"
#include "sim/drive/log_matches.hpp"
#include "sim/drive/network_counts.hpp"
#include "sim/judge/demand_trail.hpp"
#include "sim/judge/heard.hpp"
#include "sim/judge/observer.hpp"
#include "sim/judge/run_result.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

/// A tag as the channel knew it, with the sender's count in place of the channel's.
Tag true_tag(proto::Token token, const std::array<JoinedLog, part_count>& joined) {
    Tag tag = Tag::from(token);
    if (tag.link != 0 || tag.stray || tag.forged) return tag;
    const auto source = static_cast<std::size_t>(part_of(sender(tag.direction)));
    const auto& instances = joined[source].instance_of_offer;
    // what was offered before the run has a lower number, and then the difference is beyond any size
    const std::uint64_t place = std::uint64_t{tag.instance} - joined[source].first_offer;
    tag.instance = (place < instances.size() ? instances[place] : 0) & Tag::instance_max;
    return tag;
}

/// Tells a trace what passed the channel, as far as its bytes are known.
class Retelling {
  public:
    Retelling(const PartRecords& parts, const std::array<JoinedLog, part_count>& joined, TelegramTrace& trace)
        : parts_(parts), joined_(joined), trace_(trace) {}
    void until(Instant end) {
        const PartRecord& channel = parts_[static_cast<std::size_t>(Part::channel)];
        left_ = channel.telegrams;
        for (index_ = 0; index_ < channel.log.events.size() && !short_; ++index_) {
            const Event& event = channel.log.events[index_];
            if (time_of(event) >= end) return;
            std::visit([this](const auto& e) { retell(e); }, event);
        }
    }

  private:
    void retell(const LoggedOffer& e) {
        const auto bytes = next(e.bytes);
        if (bytes) trace_.sent({e.way, proto::Transmission::Kind::none, 0, 0, *bytes, e.at, e.at});
    }
    void retell(const Befell& e) { trace_.befell({true_tag(e.tag.token(), joined_), e.fate, e.at}); }
    void retell(const LoggedDelivery& e) {
        const auto bytes = next(e.bytes);
        if (!bytes) return;
        const auto at = static_cast<std::size_t>(part_of(e.to));
        trace_.delivered({e.to, true_tag(e.tag, joined_), *bytes, true, e.at});
        if (const auto concluded = joined_[at].conclusions[index_]) {
            const proto::Verdict verdict = std::get<Concluded>(parts_[at].log.events[*concluded]).verdict;
            trace_.concluded({e.to, {}, verdict, e.at});
        } else {
            trace_.unheard({e.to, WhyUnheard::missed});
        }
    }
    template <class Other>
    void retell(const Other&) {}  // nothing that travels

    /// The next so many bytes; nothing if the record holds fewer: then nothing more can be told.
    std::optional<std::span<const std::uint8_t>> next(std::uint64_t bytes) {
        short_ = bytes > left_.size();
        if (short_) return std::nullopt;
        const auto first = left_.first(bytes);
        left_ = left_.subspan(bytes);
        return first;
    }

    const PartRecords& parts_;
    const std::array<JoinedLog, part_count>& joined_;
    TelegramTrace& trace_;
    std::span<const std::uint8_t> left_;
    std::size_t index_ = 0;
    bool short_ = false;
};

/// Faults are the scenario's own, then restarts by hand: the controller's, the device's.
struct FaultNumbers {
    std::size_t own = 0, controllers = 0, all = 0;
};

FaultNumbers faults_of(const Scenario& scenario, const PartRecords& parts) {
    const auto by_hand = [&](Part part) {
        return restarts_in(scenario, parts[static_cast<std::size_t>(part)].absences);
    };
    const std::size_t all = by_hand(Part::controller) + by_hand(Part::device);
    proto::require(all <= scenario.faults.size(), "restarts by hand are among the scenario's faults");
    return {scenario.faults.size() - all, by_hand(Part::controller), scenario.faults.size()};
}

/// Lets the observer, and the time line if there is one, hear the logs of all parts in the order of time.
class Replay {
  public:
    Replay(const Scenario& scenario, const ScenarioLimits& limits, const FaultNumbers& faults,
           const std::array<JoinedLog, part_count>& joined, TimeLine* line)
        : faults_(faults),
          observer_(scenario, limits.limits),
          trail_(scenario),
          line_(line),
          joined_(joined),
          output_end_(scenario.machine ? scenario.machine->at : End::device) {}

    /// `at`: by the channel's clock.
    void hear(const Event& event, Part part, std::size_t index, Instant at) {
        part_ = static_cast<std::size_t>(part);
        index_ = index;
        std::visit(
            [&](auto e) {
                e.at = at;
                replay(e);
            },
            event);
    }
    [[nodiscard]] Observer& observer() { return observer_; }
    [[nodiscard]] const DemandTrail& trail() const { return trail_; }

  private:
    template <class F>
    void tell(const F& fact) {
        if constexpr (lists<TimeLine, F>)
            if (line_ != nullptr) line_->hear(fact);
        if constexpr (lists<DemandTrail, F>) trail_.hear(fact);
        if constexpr (lists<Observer, F>) observer_.hear(fact);
    }
    template <class F>
    void replay(const F& fact) {
        tell(fact);
    }
    void replay(const LoggedSending& e) { tell(Produced{e.way, e.signals, e.at}); }
    void replay(const Concluded& e) {
        const auto token = joined_[part_].tokens[index_];
        Tag tag;
        tag.forged = true;  // what the channel did not deliver came from elsewhere
        if (token) tag = true_tag(*token, joined_);
        tell(Concluded{e.end, tag.token(), e.verdict, e.at});
    }
    void replay(const InUse& e) {
        tell(e);
        output(e.end, e.signals, e.at);
    }
    void replay(const OutputsOff& e) {
        tell(e);
        output(e.end, 0, e.at);
    }
    void replay(const Touched& e) {
        Touched told = e;
        // each end numbers the restarts by hand that it knows after the scenario's own faults
        if (static_cast<Part>(part_) == Part::device && e.fault >= faults_.own) told.fault += faults_.controllers;
        if (told.fault < faults_.all) tell(told);  // else somebody went as the run was over
    }
    void replay(const Changed& e) {
        if (e.end == output_end_) output_runs_ = e.transition.to == proto::State::running;
        tell(e);
    }
    void replay(const Demanded& e) {
        tell(e);
        // an end that is stopped, or off, takes no telegram that would tell what it uses: nothing
        if (!output_runs_) output(output_end_, 0, e.at);
    }
    void replay(const LoggedParameter&) {}
    void replay(const LoggedRepeat&) {}
    void replay(const LoggedArrival&) {}
    void replay(const LoggedOffer&) {}
    void replay(const LoggedDelivery&) {}
    void replay(const Befell&) {}
    void output(End end, std::uint64_t signals, Instant at) {
        if (end == output_end_ && observer_.demand_open()) tell(OutputUsed{signals, at});
    }

    FaultNumbers faults_;
    Observer observer_;
    DemandTrail trail_;
    TimeLine* line_;
    const std::array<JoinedLog, part_count>& joined_;
    End output_end_;
    bool output_runs_ = false;
    std::size_t part_ = 0, index_ = 0;
};

/// An event's place in the order of time.
struct Moment {
    std::int64_t at;
    Part part;
    std::size_t index;
};

std::vector<Moment> in_order(const PartRecords& parts, const std::array<JoinedLog, part_count>& joined) {
    std::vector<Moment> moments;
    for (unsigned p = 0; p < part_count; ++p) {
        const std::int64_t offset = p == static_cast<unsigned>(Part::channel) ? 0 : joined[p].offset.value();
        const Events& log = parts[p].log.events;
        for (std::size_t i = 0; i < log.size(); ++i)
            moments.push_back({time_of(log[i]).ns + offset, static_cast<Part>(p), i});
    }
    std::stable_sort(moments.begin(), moments.end(), [](const Moment& a, const Moment& b) { return a.at < b.at; });
    return moments;
}

std::vector<std::int64_t> sorted_lateness(const PartRecords& parts) {
    std::vector<std::int64_t> all;
    for (const PartRecord& part : parts) all.insert(all.end(), part.lateness_ns.begin(), part.lateness_ns.end());
    std::sort(all.begin(), all.end());
    return all;
}

/// What lies between the begins of two parts that begin as they hear each other: less than this.
Duration begins_within(const Scenario& s) {
    return std::max(s.controller.link.watchdog, s.device.link.watchdog) * 2 + proto::milliseconds(200);
}

/// By one clock where both ran on one computer, else by the first telegram that both know.
Duration began_apart(const PartRecords& parts, Part part, const JoinedLog& joined) {
    const PartRecord &own = parts[static_cast<std::size_t>(part)],
                     &channel = parts[static_cast<std::size_t>(Part::channel)];
    if (!own.boot.empty() && own.boot == channel.boot) return Duration{own.clock_ns - channel.clock_ns};
    return joined.began_apart.value_or(Duration{});
}

std::vector<PartAway> parts_away(const Scenario& scenario, const PartRecords& parts,
                                 const std::array<JoinedLog, part_count>& joined) {
    std::vector<PartAway> away;
    for (const Part part : {Part::controller, Part::channel, Part::device}) {
        const auto p = static_cast<std::size_t>(part);
        const Duration offset{part == Part::channel ? 0 : joined[p].offset.value()};
        for (const Absence& absence : parts[p].absences)
            away.push_back({part, absence.from + offset, absence.until + offset, true});
    }
    for (const Part part : {Part::controller, Part::device}) {
        const JoinedLog& j = joined[static_cast<std::size_t>(part)];
        const Duration apart = began_apart(parts, part, j);
        if (apart <= begins_within(scenario) && j.unknown_until)
            away.push_back({part, Instant{}, *j.unknown_until, false});
        if (apart > begins_within(scenario)) away.push_back({part, Instant{}, Instant{} + apart, false});
        // seen from an end, it was the channel that began later
        if (Duration{} - apart > begins_within(scenario) &&
            (away.empty() || away.back().recorded || away.back().part != Part::channel))
            away.push_back({Part::channel, Instant{}, Instant{} + (Duration{} - apart), false});
    }
    return away;
}

}  // namespace

std::optional<RunResult> join(const Scenario& scenario, std::uint64_t seed, const ScenarioLimits& limits,
                              const PartRecords& parts, const Witnesses& witnesses) {
    const Events& channel = parts[static_cast<std::size_t>(Part::channel)].log.events;
    const OfferNumbers offers = offers_in(channel);
    std::array<JoinedLog, part_count> joined;
    for (const Part part : {Part::controller, Part::device}) {
        const End end = part == Part::controller ? End::controller : End::device;
        JoinedLog& j = joined[static_cast<std::size_t>(part)] = bring_together(
            parts[static_cast<std::size_t>(part)].log.events, channel, end, offers, lost_after(scenario));
        if (j.matched < 3 || j.delivered < 3) return std::nullopt;
    }
    const Instant end = Instant{} + scenario.duration;
    if (witnesses.trace != nullptr) Retelling(parts, joined, *witnesses.trace).until(end);

    Replay replay(scenario, limits, faults_of(scenario, parts), joined, witnesses.line);
    for (const Moment& moment : in_order(parts, joined)) {
        if (Instant{moment.at} >= end) break;
        replay.hear(parts[static_cast<std::size_t>(moment.part)].log.events[moment.index], moment.part, moment.index,
                    Instant{moment.at});
    }

    RunResult result = result_of(scenario, seed);
    result.live = true;
    const PartRecord& controller = parts[static_cast<std::size_t>(Part::controller)];
    finish(result, replay.observer(),
           {end, controller.scans, controller.shown, parts[static_cast<std::size_t>(Part::device)].shown});
    replay.trail().put_into(result);
    if (witnesses.line != nullptr) witnesses.line->finish(end);
    if (scenario.controller.link.exchange == proto::Exchange::polled)
        result.round_trips = live_round_trips(parts, {joined[0].conclusions, {}, joined[2].conclusions},
                                              end - Duration{joined[0].offset.value()}, lost_after(scenario));
    result.lateness.sorted_ns = sorted_lateness(parts);
    result.away = parts_away(scenario, parts, joined);
    result.network = network_counts(parts, {joined[0].offset.value(), 0, joined[2].offset.value()}, end);
    return result;
}

}  // namespace sim
