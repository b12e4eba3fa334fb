#include "sim/drive/brought_together.hpp"

#include <algorithm>
#include <variant>

#include "sim/drive/log_matches.hpp"

namespace sim {
namespace {

/// What an end sent in that direction: process telegrams and parameters, in order.
std::vector<Entry> sendings(const Events& log, Direction way) {
    std::vector<Entry> found;
    for (std::size_t i = 0; i < log.size(); ++i) {
        if (const auto* fresh = std::get_if<LoggedSending>(&log[i]); fresh != nullptr && fresh->way == way)
            found.push_back({i, fresh->identity, fresh->at});
        if (const auto* parameter = std::get_if<LoggedParameter>(&log[i]);
            parameter != nullptr && parameter->way == way)
            found.push_back({i, parameter->identity, parameter->at});
    }
    return found;
}

/// So many in a row are no bent ones: they were sent by somebody whose record is lost.
constexpr std::size_t unknown_in_a_row = 20;

/// Notes the last stretch of offers of which no record says that they were sent. Where the end did send as many
/// meanwhile they came bent. `sender_of`: by place in the channel's log, the place in the end's; nothing if there is
/// none.
void note_unknown(JoinedLog& joined, const std::vector<Entry>& sent, const std::vector<Entry>& offered,
                  const std::vector<std::optional<std::size_t>>& sender_of) {
    const auto sent_before = [&sent](std::size_t index) {
        const auto at = std::lower_bound(sent.begin(), sent.end(), index,
                                         [](const Entry& entry, std::size_t i) { return entry.index < i; });
        return static_cast<std::size_t>(at - sent.begin());
    };
    std::size_t begin = 0, since = 0;  // of the stretch: in offered, and in sent
    for (std::size_t i = 0; i <= offered.size(); ++i) {
        const bool known = i < offered.size() && sender_of[offered[i].index];
        if (i < offered.size() && !known) continue;
        const std::size_t until = known ? sent_before(*sender_of[offered[i].index]) : sent.size();
        const std::size_t unknown = i - begin, sent_meanwhile = until > since ? until - since : 0;
        if (unknown >= unknown_in_a_row && sent_meanwhile * 2 < unknown) joined.unknown_until = offered[i - 1].at;
        begin = i + 1;
        since = until + 1;
    }
}

}  // namespace

OfferNumbers offers_in(const Events& channel) {
    OfferNumbers offers;
    for (const Event& event : channel)
        if (const auto* offer = std::get_if<LoggedOffer>(&event)) {
            if (offers.last == 0) offers.first = offer->number;
            offers.last = std::max(offers.last, offer->number);
        }
    return offers;
}

JoinedLog bring_together(const Events& end_log, const Events& channel, End end, const OfferNumbers& offers,
                         Duration oldest) {
    JoinedLog joined;
    joined.first_offer = offers.first;
    const Direction out = end == End::controller ? Direction::to_device : Direction::to_controller;
    const auto identity = [](const auto& e) { return e.identity; };
    const std::vector<Entry> sent = sendings(end_log, out);
    const auto offered = entries<LoggedOffer>(
        channel, [&](const LoggedOffer& e) { return e.way == out; }, identity);
    const auto delivered = entries<LoggedDelivery>(
        channel, [&](const LoggedDelivery& e) { return e.to == end; }, identity);
    const auto concluded = entries<Concluded>(
        end_log, [&](const Concluded& e) { return e.end == end; }, [](const Concluded& e) { return e.token.value; });

    joined.instance_of_offer.assign(offers.last + 1 - offers.first, 0);
    std::vector<std::uint64_t> instance_at(end_log.size(), 0);
    std::uint64_t instances = 0;
    for (const Entry& s : sent) {
        if (std::holds_alternative<LoggedSending>(end_log[s.index])) ++instances;
        instance_at[s.index] = instances;
    }
    const auto apart = [&](std::size_t in_channel, std::size_t in_end) {
        return (time_of(channel[in_channel]) - time_of(end_log[in_end])).ns;
    };
    std::vector<std::optional<std::size_t>> sender_of(channel.size());
    for (const Match& m : matches(sent, offered, Reuse::yes, oldest)) {
        sender_of[m.later] = m.earlier;
        joined.offset.most = std::min(joined.offset.most, apart(m.later, m.earlier));
        if (!joined.began_apart) joined.began_apart = Duration{apart(m.later, m.earlier)};
        const std::uint64_t number = std::get<LoggedOffer>(channel[m.later]).number;
        joined.instance_of_offer[number - offers.first] = instance_at[m.earlier];
        ++joined.matched;
    }
    note_unknown(joined, sent, offered, sender_of);
    joined.tokens.resize(end_log.size());
    joined.conclusions.resize(channel.size());
    for (const Match& m : matches(delivered, concluded, Reuse::no, oldest)) {
        joined.offset.least = std::max(joined.offset.least, apart(m.earlier, m.later));
        joined.tokens[m.later] = std::get<LoggedDelivery>(channel[m.earlier]).tag;
        joined.conclusions[m.earlier] = m.later;
        ++joined.delivered;
    }
    return joined;
}

}  // namespace sim
