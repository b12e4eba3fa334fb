#include "sim/drive/replayed_link.hpp"

#include <algorithm>
#include <span>
#include <utility>

#include "sim/drive/by_hand.hpp"
#include "sim/drive/live_round_trips.hpp"
#include "sim/drive/log_matches.hpp"
#include "sim/drive/network_counts.hpp"
#include "sim/judge/run_result.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

Tag true_tag(proto::Token token, const JoinedLogs& joined) {
    Tag tag = Tag::from(token);
    if (tag.link != 0 || tag.stray || tag.forged) return tag;
    const auto source = static_cast<std::size_t>(part_of(sender(tag.direction)));
    const auto& instances = joined[source].instance_of_offer;
    // what was offered before the run has a lower number, and then the difference is beyond any size
    const std::uint64_t place = std::uint64_t{tag.instance} - joined[source].first_offer;
    tag.instance = (place < instances.size() ? instances[place] : 0) & Tag::instance_max;
    return tag;
}

namespace {

/// Tells a trace what passed the channel, as far as its bytes are known.
class Retelling {
  public:
    Retelling(const PartRecords& parts, const JoinedLogs& joined, TelegramTrace& trace)
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
    const JoinedLogs& joined_;
    TelegramTrace& trace_;
    std::span<const std::uint8_t> left_;
    std::size_t index_ = 0;
    bool short_ = false;
};

FaultNumbers faults_of(const Scenario& scenario, const PartRecords& parts) {
    const auto by_hand = [&](Part part) {
        return restarts_in(scenario, parts[static_cast<std::size_t>(part)].absences);
    };
    const std::size_t all = by_hand(Part::controller) + by_hand(Part::device);
    proto::require(all <= scenario.faults.size(), "restarts by hand are among the scenario's faults");
    return {scenario.faults.size() - all, by_hand(Part::controller), scenario.faults.size()};
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

std::vector<PartAway> parts_away(const Scenario& scenario, const PartRecords& parts, const JoinedLogs& joined) {
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

JoinedLogs brought_together(const Scenario& scenario, const PartRecords& parts) {
    const Events& channel = parts[static_cast<std::size_t>(Part::channel)].log.events;
    const OfferNumbers offers = offers_in(channel);
    JoinedLogs joined;
    for (const Part part : {Part::controller, Part::device}) {
        const auto p = static_cast<std::size_t>(part);
        joined[p] = bring_together(parts[p].log.events, channel, *end_of(part), offers, lost_after(scenario));
    }
    return joined;
}

}  // namespace

ReplayedLink::ReplayedLink(const Scenario& scenario, const ScenarioLimits& limits, const PartRecords& parts,
                           const Witnesses& witnesses, FarStops* far)
    : scenario_(scenario),
      parts_(parts),
      witnesses_(witnesses),
      joined_(brought_together(scenario, parts)),
      replay_(scenario, limits, faults_of(scenario, parts), joined_, witnesses.line, far) {}

bool ReplayedLink::belong_together() const {
    return std::ranges::all_of(std::array{Part::controller, Part::device}, [this](Part part) {
        const JoinedLog& joined = joined_[static_cast<std::size_t>(part)];
        return joined.matched >= 3 && joined.delivered >= 3;
    });
}

std::vector<Moment> ReplayedLink::in_order() const {
    std::vector<Moment> moments;
    for (unsigned p = 0; p < part_count; ++p) {
        const std::int64_t offset = p == static_cast<unsigned>(Part::channel) ? 0 : joined_[p].offset.value();
        const Events& log = parts_[p].log.events;
        for (std::size_t i = 0; i < log.size(); ++i)
            moments.push_back({time_of(log[i]).ns + offset, static_cast<Part>(p), i});
    }
    std::stable_sort(moments.begin(), moments.end(), [](const Moment& a, const Moment& b) { return a.at < b.at; });
    return moments;
}

RunResult ReplayedLink::result(std::uint64_t seed) {
    const Instant end = Instant{} + scenario_.duration;
    if (witnesses_.trace != nullptr) Retelling(parts_, joined_, *witnesses_.trace).until(end);
    RunResult result = result_of(scenario_, seed);
    result.live = true;
    const PartRecord& controller = parts_[static_cast<std::size_t>(Part::controller)];
    finish(result, replay_.observer(),
           {end, controller.scans, controller.shown, parts_[static_cast<std::size_t>(Part::device)].shown});
    replay_.trail().put_into(result);
    if (witnesses_.line != nullptr) witnesses_.line->finish(end);
    if (scenario_.controller.link.exchange == proto::Exchange::polled)
        result.round_trips = live_round_trips(parts_, {joined_[0].conclusions, {}, joined_[2].conclusions},
                                              end - Duration{joined_[0].offset.value()}, lost_after(scenario_));
    result.lateness.sorted_ns = sorted_lateness(parts_);
    result.away = parts_away(scenario_, parts_, joined_);
    result.network = network_counts(parts_, {joined_[0].offset.value(), 0, joined_[2].offset.value()}, end);
    return result;
}

}  // namespace sim
