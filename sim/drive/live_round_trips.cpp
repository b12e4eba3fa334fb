#include "sim/drive/live_round_trips.hpp"

#include <algorithm>
#include <unordered_map>
#include <variant>

#include "sim/drive/log_matches.hpp"

namespace sim {
namespace {

using Events = std::vector<Event>;

/// Of a telegram that an end took in a scan; what is not known is 0.
struct Taken {
    Duration waited;                 ///< from its arrival to the scan
    Duration said_again;             ///< from when the same was first offered to the channel to when this one was
    std::optional<Duration> on_way;  ///< in the channel
};

/// Of each telegram that was offered to the channel.
struct Offered {
    Instant at{}, first{};  ///< `first`: of the same bytes, one after the other
};

std::unordered_map<std::uint64_t, Offered> offers_of(const Events& channel) {
    std::unordered_map<std::uint64_t, Offered> offers;
    struct Last {
        std::uint64_t identity = 0;
        Instant first{};
        bool any = false;
    };
    std::array<Last, 2> last;  // one a way
    for (const Event& event : channel) {
        const auto* offer = std::get_if<LoggedOffer>(&event);
        if (offer == nullptr) continue;
        Last& before = last[static_cast<std::size_t>(offer->way)];
        if (!before.any || before.identity != offer->identity) before = {offer->identity, offer->at, true};
        offers[offer->number] = {offer->at, before.first};
    }
    return offers;
}

/// What is known of each telegram that an end concluded about, by the place of Concluded in its log.
std::vector<Taken> taken_at(End end, const Events& log, const Events& channel, const Conclusions& conclusions,
                            Duration oldest) {
    std::vector<Taken> taken(log.size());
    const auto arrived = entries<LoggedArrival>(
        log, [end](const LoggedArrival& e) { return e.end == end && e.waits; },
        [](const LoggedArrival& e) { return e.identity; });
    const auto concluded = entries<Concluded>(
        log, [end](const Concluded& e) { return e.end == end; }, [](const Concluded& e) { return e.token.value; });
    for (const Match& m : matches(arrived, concluded, Reuse::no, oldest))
        taken[m.later].waited = time_of(log[m.later]) - time_of(log[m.earlier]);

    const auto offers = offers_of(channel);
    for (std::size_t i = 0; i < conclusions.size(); ++i) {
        if (!conclusions[i]) continue;
        const auto& delivery = std::get<LoggedDelivery>(channel[i]);
        const Tag tag = Tag::from(delivery.tag);
        const auto offer = offers.find(tag.instance);
        if (tag.link != 0 || tag.stray || tag.forged || offer == offers.end()) continue;
        Taken& of = taken[*conclusions[i]];
        of.on_way = delivery.at - offer->second.at;
        of.said_again = offer->second.at - offer->second.first;
    }
    return taken;
}

/// Finds the device's acceptance of each new telegram, in order.
class Acceptances {
  public:
    explicit Acceptances(const Events& device) {
        all_ = entries<Concluded>(
            device,
            [](const Concluded& e) { return e.end == End::device && e.verdict.kind == proto::Verdict::Kind::fresh; },
            [](const Concluded& e) { return e.token.value; });
    }
    /// Its place in the log.
    std::optional<std::size_t> of(std::uint64_t identity) {
        constexpr std::size_t look_ahead = 64;
        const std::size_t end = std::min(all_.size(), from_ + look_ahead);
        for (std::size_t i = from_; i < end; ++i) {
            if (all_[i].identity != identity) continue;
            from_ = i + 1;
            return all_[i].index;
        }
        return std::nullopt;
    }

  private:
    std::vector<Entry> all_;
    std::size_t from_ = 0;
};

}  // namespace

std::vector<LiveRoundTrip> live_round_trips(const PartRecords& parts, const std::array<Conclusions, part_count>& joined,
                                            Instant until, Duration oldest) {
    const auto log = [&parts](Part part) -> const Events& { return parts[static_cast<std::size_t>(part)].log.events; };
    const auto taken = [&](Part part, End end) {
        return taken_at(end, log(part), log(Part::channel), joined[static_cast<std::size_t>(part)], oldest);
    };
    const std::vector<Taken> at_controller = taken(Part::controller, End::controller);
    const std::vector<Taken> at_device = taken(Part::device, End::device);
    Acceptances acceptances(log(Part::device));

    std::vector<LiveRoundTrip> found;
    const Events& controller = log(Part::controller);
    const LoggedSending* out = nullptr;
    for (std::size_t i = 0; i < controller.size() && time_of(controller[i]) < until; ++i) {
        if (const auto* sent = std::get_if<LoggedSending>(&controller[i]);
            sent != nullptr && sent->way == Direction::to_device)
            out = sent;
        const auto* answer = std::get_if<Concluded>(&controller[i]);
        if (answer == nullptr || out == nullptr || answer->end != End::controller ||
            answer->verdict.kind != proto::Verdict::Kind::fresh)
            continue;
        const Duration whole = answer->at - out->at;
        const auto accepted = acceptances.of(out->identity);
        const Taken& back = at_controller[i];
        const Taken there = accepted ? at_device[*accepted] : Taken{};
        const Duration least = there.on_way.value_or(Duration{}) + back.on_way.value_or(Duration{});
        const Duration waits = there.waited + there.said_again + back.waited + back.said_again;
        const Duration line = std::min(std::max(whole - waits, least), whole);
        found.push_back({line, whole - line});
        out = nullptr;
    }
    return found;
}

}  // namespace sim
