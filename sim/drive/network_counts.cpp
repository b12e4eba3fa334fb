#include "sim/drive/network_counts.hpp"

#include <algorithm>
#include <deque>
#include <unordered_map>
#include <utility>

#include "sim/drive/by_hand.hpp"
#include "sim/drive/log_matches.hpp"

namespace sim {
namespace {

/// A datagram that has not arrived after so long was lost.
constexpr Duration given_up = proto::seconds(1);
/// More than the clocks of two parts, as they are known to each other, can be apart.
constexpr Duration around = proto::milliseconds(50);

/// A datagram as one side saw it, by the channel's clock.
struct Datagram {
    Instant at{};
    std::uint64_t identity = 0;
};
using Datagrams = std::vector<Datagram>;

/// The events of those kinds that `wanted`.
template <class... E, class Wanted>
Datagrams seen(const PartRecord& part, std::int64_t offset, Wanted wanted) {
    Datagrams found;
    const auto look_at = [&](const auto* e) {
        if (e != nullptr && wanted(*e)) found.push_back({Instant{e->at.ns + offset}, e->identity});
    };
    for (const Event& event : part.log.events) (look_at(std::get_if<E>(&event)), ...);
    return found;
}

/// When a part was not there, by the channel's clock.
std::vector<Absence> absences_of(const PartRecord& part, std::int64_t offset) {
    std::vector<Absence> absences = part.absences;
    for (Absence& absence : absences) {
        absence.from = Instant{absence.from.ns + offset};
        absence.until = Instant{absence.until.ns + offset};
    }
    return absences;
}

class Leg {
  public:
    Leg(NetworkLeg leg, std::vector<Absence> away) : leg_(leg), away_(std::move(away)) {}

    NetworkLeg count(const Datagrams& sent, const Datagrams& arrived, Instant end) {
        // of the first ones, which say the same over and over until both parts are there, nobody knows which is which
        const auto other = [&](const Datagram& d) { return d.identity != arrived.front().identity; };
        auto first = std::find_if(arrived.begin(), arrived.end(), other);
        auto next = sent.begin();
        if (first != arrived.end()) {
            const auto it = std::find_if(sent.begin(), sent.end(),
                                         [first](const Datagram& d) { return d.identity == first->identity; });
            if (it != sent.end()) next = it;
        } else if (!arrived.empty()) {  // nothing else came: what was sent after that is lost
            next = std::find_if(sent.begin(), sent.end(), [&](const Datagram& d) { return d.at > arrived.back().at; });
        }
        for (; first != arrived.end(); ++first) {
            for (; next != sent.end() && next->at <= first->at + around; ++next) put(*next, end);
            forget(first->at);
            take(*first, end);
        }
        for (; next != sent.end(); ++next) put(*next, end);
        forget(proto::never);
        return leg_;
    }

  private:
    struct Out {
        std::uint64_t number = 0;
        Instant at{};
        bool counts = false;
    };
    /// What was on its way, or waited in the socket, as a part went is gone with it; and who came when is not known to
    /// the millisecond.
    [[nodiscard]] bool nobody_there(Instant at) const {
        return std::any_of(away_.begin(), away_.end(),
                           [&](const Absence& a) { return at + around >= a.from && at <= a.until + around; });
    }
    void put(const Datagram& datagram, Instant end) {
        const bool counts = datagram.at < end && datagram.at >= Instant{} && !nobody_there(datagram.at);
        leg_.sent += counts ? 1U : 0U;
        waiting_[datagram.identity].push_back({++numbers_, datagram.at, counts});
        order_.push_back({datagram.at, datagram.identity});
    }
    /// What was sent so long before is lost.
    void forget(Instant now) {
        while (!order_.empty() && (now == proto::never || order_.front().at + given_up < now)) {
            const auto found = waiting_.find(order_.front().identity);
            if (found != waiting_.end() && !found->second.empty() && found->second.front().at <= order_.front().at) {
                leg_.lost += found->second.front().counts ? 1U : 0U;
                found->second.pop_front();
            }
            if (found != waiting_.end() && found->second.empty()) waiting_.erase(found);
            order_.pop_front();
        }
    }
    void take(const Datagram& datagram, Instant end) {
        const auto found = waiting_.find(datagram.identity);
        if (found == waiting_.end() || found->second.empty()) {
            if (datagram.at >= end || datagram.at < Instant{} || nobody_there(datagram.at)) return;
            const auto before = taken_at_.find(datagram.identity);
            const bool again = before != taken_at_.end() && before->second + given_up >= datagram.at;
            ++(again ? leg_.doubled : leg_.strange);
            return;
        }
        // the same was said while nobody was there, and now again
        while (found->second.size() > 1 && !found->second.front().counts &&
               found->second.front().at + around * 4 < datagram.at)
            found->second.pop_front();
        const Out out = found->second.front();
        found->second.pop_front();
        if (found->second.empty()) waiting_.erase(found);
        if (out.number < furthest_ && out.counts) ++leg_.overtook;
        furthest_ = std::max(furthest_, out.number);
        taken_at_[datagram.identity] = datagram.at;
    }

    NetworkLeg leg_;
    std::vector<Absence> away_;
    std::unordered_map<std::uint64_t, std::deque<Out>> waiting_;  ///< by identity, not arrived yet
    std::deque<Datagram> order_;                                  ///< of what was sent
    std::unordered_map<std::uint64_t, Instant> taken_at_;
    std::uint64_t numbers_ = 0, furthest_ = 0;
};

}  // namespace

std::vector<NetworkLeg> network_counts(const PartRecords& parts, const std::array<std::int64_t, part_count>& offset_ns,
                                       Instant end) {
    const PartRecord& channel = parts[static_cast<std::size_t>(Part::channel)];
    const std::vector<Absence> channel_away = absences_of(channel, 0);
    std::vector<NetworkLeg> legs;
    for (const Direction way : {Direction::to_device, Direction::to_controller}) {
        const auto index_of = [](End e) { return static_cast<std::size_t>(part_of(e)); };
        const End to = receiver(way);
        const std::size_t source = index_of(sender(way)), sink = index_of(to);
        const auto on_way = [way](const auto& e) { return e.way == way; };
        legs.push_back(
            Leg({way, false}, channel_away)
                .count(seen<LoggedSending, LoggedParameter, LoggedRepeat>(parts[source], offset_ns[source], on_way),
                       seen<LoggedOffer>(channel, 0, on_way), end));
        legs.push_back(
            Leg({way, true}, absences_of(parts[sink], offset_ns[sink]))
                .count(seen<LoggedDelivery>(channel, 0, [to](const LoggedDelivery& e) { return e.to == to; }),
                       seen<LoggedArrival>(parts[sink], offset_ns[sink],
                                           [to](const LoggedArrival& e) { return e.end == to; }),
                       end));
    }
    return legs;
}

}  // namespace sim
