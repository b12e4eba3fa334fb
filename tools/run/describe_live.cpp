#include "tools/run/describe_live.hpp"

#include <array>
#include <utility>

#include "sim/scenario/scenario.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

std::string leg_in_words(const sim::Scenario& scenario, const sim::NetworkLeg& leg) {
    const std::array<std::pair<std::uint64_t, const char*>, 4> troubles{
        {{leg.lost, "lost"}, {leg.doubled, "doubled"}, {leg.overtook, "out of order"}, {leg.strange, "altered"}}};
    std::string words;
    for (const auto& [count, trouble] : troubles)
        if (count != 0) words += (words.empty() ? "" : ", ") + grouped(count) + " " + trouble;
    if (words.empty()) return words;
    const std::string from = plain(scenario.end(sim::sender(leg.way)).name);
    const std::string to = plain(scenario.end(sim::receiver(leg.way)).name);
    return words + " of " + grouped(leg.sent) + " between " +
           (leg.beyond_channel ? "channel and " + to : from + " and channel") + ", on the way to " + to;
}

}  // namespace

Value describe_network(const sim::RunResult& result) {
    Value::List legs;
    for (const sim::NetworkLeg& leg : result.network) {
        const bool out = leg.way == sim::Direction::to_device;
        const char* end_of_leg = out == leg.beyond_channel ? "device" : "controller";
        legs.push_back(Value::Object{{"direction", name_of_way(leg.way)},
                                     {"from", leg.beyond_channel ? "channel" : end_of_leg},
                                     {"to", leg.beyond_channel ? end_of_leg : "channel"},
                                     {"sent", leg.sent},
                                     {"lost", leg.lost},
                                     {"doubled", leg.doubled},
                                     {"out_of_order", leg.overtook},
                                     {"altered", leg.strange}});
    }
    return legs;
}

Value describe_away(const sim::RunResult& result) {
    Value::List away;
    for (const sim::PartAway& one : result.away)
        away.push_back(Value::Object{{"part", name_of(one.part)},
                                     {"from_ms", one.from - proto::Instant{}},
                                     {"until_ms", one.until - proto::Instant{}},
                                     {"recorded", one.recorded}});
    return away;
}

Value describe_lateness(const sim::Lateness& lateness, proto::Duration allowed) {
    return Value::Object{
        {"median", lateness.at(0.5)}, {"p99", lateness.at(0.99)}, {"max", lateness.at(1.0)}, {"allowed", allowed}};
}

std::string lateness_in_words(const sim::Lateness& lateness, proto::Duration allowed) {
    return "of " + counted(lateness.sorted_ns.size(), "timer", "timers") + ": half within " +
           in_ms(lateness.at(0.5), Rounding::up) + ", 99 % within " + in_ms(lateness.at(0.99), Rounding::up) +
           ", the latest " + in_ms(lateness.at(1.0), Rounding::up) + "; " + in_ms(allowed, Rounding::down) +
           " are allowed.";
}

std::string network_in_words(const sim::Scenario& scenario, const std::vector<sim::NetworkLeg>& legs) {
    std::string words;
    std::uint64_t sent = 0;
    for (const sim::NetworkLeg& leg : legs) {
        sent += leg.sent;
        const std::string of_leg = leg_in_words(scenario, leg);
        if (!of_leg.empty()) words += (words.empty() ? "" : "; ") + of_leg;
    }
    if (sent == 0) return "nothing came through.";
    if (words.empty())
        return "lost, doubled, changed and reordered nothing of " + counted(sent, "datagram", "datagrams") + ".";
    return words + ".";
}

}  // namespace tools
