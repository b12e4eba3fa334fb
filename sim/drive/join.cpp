#include "sim/drive/join.hpp"

#include <algorithm>
#include <limits>

#include "sim/judge/observer.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

using Kind = JudgeRecord::Kind;

/// How far ahead a telegram may have overtaken, or how many may be lost in a row, before the search gives up.
constexpr std::size_t look_ahead = 512;

/// Clocks: channel time = own time + offset, known between two limits.
struct Offset {
    std::int64_t least = std::numeric_limits<std::int64_t>::min();
    std::int64_t most = std::numeric_limits<std::int64_t>::max();
    /// The value in between nearest to 0: parts in one process share a clock, and are then found to.
    [[nodiscard]] std::int64_t value() const { return least > 0 ? least : most < 0 ? most : 0; }
};

/// One record of each side that is about the same telegram.
struct Match {
    std::size_t earlier, later;
};

/// For each `later` record the first unused `earlier` one with the same identity, in order. `reuse`: an earlier one may
/// have several later ones (a telegram that is sent again).
enum class Reuse : std::uint8_t { no, yes };
std::vector<Match> matches(const JudgeLog& earlier, const std::vector<std::size_t>& earlier_at, const JudgeLog& later,
                           const std::vector<std::size_t>& later_at, Reuse reuse) {
    std::vector<Match> found;
    std::size_t from = 0;
    for (const std::size_t l : later_at) {
        const std::size_t begin = reuse == Reuse::yes && from > 0 ? from - 1 : from;
        const std::size_t end = std::min(earlier_at.size(), begin + look_ahead);
        for (std::size_t e = begin; e < end; ++e) {
            if (earlier[earlier_at[e]].a != later[l].a) continue;
            found.push_back({earlier_at[e], l});
            from = e + 1;
            break;
        }
    }
    return found;
}

/// As Teller packs it: nothing is the machine's start.
std::optional<DriveCommand> drive_command_from(std::uint64_t packed) {
    return packed == 0 ? std::nullopt : std::optional(static_cast<DriveCommand>(packed - 1));
}

template <class Wanted>
std::vector<std::size_t> places(const JudgeLog& log, Wanted wanted) {
    std::vector<std::size_t> found;
    for (std::size_t i = 0; i < log.size(); ++i)
        if (wanted(log[i])) found.push_back(i);
    return found;
}

struct Joined {
    Offset offset;
    std::vector<std::uint64_t> instance_of_offer;         ///< by number of what was offered (from 1), 0 unknown
    std::vector<std::optional<proto::Token>> tokens;      ///< by place of `concluded` in the end's log
    std::vector<std::optional<std::size_t>> conclusions;  ///< by place of `delivered` in the channel's log
    std::size_t matched = 0, delivered = 0;
};

/// Brings one end and the channel together.
Joined bring_together(const JudgeLog& end_log, const JudgeLog& channel, End end, std::uint64_t offers) {
    Joined joined;
    const Direction out = end == End::controller ? Direction::to_device : Direction::to_controller;
    const auto is = [](Kind kind, auto place) {
        return [=](const JudgeRecord& r) { return r.kind == kind && r.place == static_cast<std::uint8_t>(place); };
    };
    const auto sent = places(end_log, [&](const JudgeRecord& r) {
        return (r.kind == Kind::produced || r.kind == Kind::parameter) && r.place == static_cast<std::uint8_t>(out);
    });
    const auto offered = places(channel, is(Kind::offered, out));
    const auto delivered = places(channel, is(Kind::delivered, end));
    const auto concluded = places(end_log, is(Kind::concluded, end));

    joined.instance_of_offer.assign(offers + 1, 0);
    std::vector<std::uint64_t> instance_at(end_log.size(), 0);
    std::uint64_t instances = 0;
    for (const std::size_t s : sent) {
        if (end_log[s].kind == Kind::produced) ++instances;
        instance_at[s] = instances;
    }
    for (const Match& m : matches(end_log, sent, channel, offered, Reuse::yes)) {
        joined.offset.most = std::min(joined.offset.most, channel[m.later].at.ns - end_log[m.earlier].at.ns);
        joined.instance_of_offer[channel[m.later].b] = instance_at[m.earlier];
        ++joined.matched;
    }
    joined.tokens.resize(end_log.size());
    joined.conclusions.resize(channel.size());
    for (const Match& m : matches(channel, delivered, end_log, concluded, Reuse::no)) {
        joined.offset.least = std::max(joined.offset.least, channel[m.earlier].at.ns - end_log[m.later].at.ns);
        joined.tokens[m.later] = proto::Token{channel[m.earlier].b};
        joined.conclusions[m.earlier] = m.later;
        ++joined.delivered;
    }
    return joined;
}

/// A tag as the channel knew it, with the sender's count in place of the channel's.
Tag true_tag(proto::Token token, const std::array<Joined, part_count>& joined) {
    Tag tag = Tag::from(token);
    if (tag.link != 0 || tag.stray || tag.forged) return tag;
    const auto source =
        static_cast<std::size_t>(tag.direction == Direction::to_device ? Part::controller : Part::device);
    const auto& instances = joined[source].instance_of_offer;
    tag.instance = (tag.instance < instances.size() ? instances[tag.instance] : 0) & Tag::instance_max;
    return tag;
}

void retell(const PartRecords& parts, const std::array<Joined, part_count>& joined, Instant until,
            TelegramTrace& trace) {
    const PartRecord& channel = parts[static_cast<std::size_t>(Part::channel)];
    std::span<const std::uint8_t> left(channel.telegrams);
    for (std::size_t i = 0; i < channel.log.size(); ++i) {
        const JudgeRecord& r = channel.log[i];
        const bool passes = r.kind == Kind::offered || r.kind == Kind::delivered;
        if (r.at >= until || (passes && r.c > left.size())) return;
        const std::span<const std::uint8_t> bytes = left.first(passes ? r.c : 0);
        left = left.subspan(bytes.size());
        if (r.kind == Kind::offered) trace.sent(static_cast<Direction>(r.place), bytes, r.at);
        if (r.kind == Kind::befell) trace.befell(true_tag({r.a}, joined), static_cast<Fate>(r.b));
        if (r.kind != Kind::delivered) continue;
        const End to = static_cast<End>(r.place);
        const auto at = static_cast<std::size_t>(to == End::controller ? Part::controller : Part::device);
        trace.delivered(to, true_tag({r.b}, joined), bytes, r.at);
        if (const auto concluded = joined[at].conclusions[i])
            trace.concluded(to, verdict_from(parts[at].log[*concluded].b), r.at);
        else
            trace.unheard(to, Unheard::missed);
    }
}

void draw(TimeLine& line, const JudgeRecord& r, Instant now) {
    const End end = static_cast<End>(r.place);
    if (r.kind == Kind::changed) line.changed(end, transition_from(r.a), now);
    if (r.kind == Kind::in_use) line.in_use(end, r.a, now);
    if (r.kind == Kind::outputs_off) line.outputs_off(end, now);
    if (r.kind == Kind::machine) line.machine(drive_command_from(r.a), now);
}

struct Event {
    std::int64_t at;
    Part part;
    std::size_t index;
};

}  // namespace

std::string_view name_of(Part part) {
    switch (part) {
        case Part::controller: return "controller";
        case Part::channel: return "channel";
        case Part::device: return "device";
    }
    return "?";
}

std::optional<RunResult> join(const Scenario& scenario, std::uint64_t seed, const ScenarioLimits& limits,
                              const PartRecords& parts, const Witnesses& witnesses) {
    const JudgeLog& channel = parts[static_cast<std::size_t>(Part::channel)].log;
    std::uint64_t offers = 0;
    for (const JudgeRecord& record : channel)
        if (record.kind == Kind::offered) offers = std::max(offers, record.b);
    std::array<Joined, part_count> joined;
    for (const Part part : {Part::controller, Part::device}) {
        const End end = part == Part::controller ? End::controller : End::device;
        Joined& j = joined[static_cast<std::size_t>(part)] =
            bring_together(parts[static_cast<std::size_t>(part)].log, channel, end, offers);
        if (j.matched < 3 || j.delivered < 3) return std::nullopt;
    }

    if (witnesses.trace != nullptr) retell(parts, joined, Instant{} + scenario.duration, *witnesses.trace);

    std::vector<Event> events;
    for (unsigned p = 0; p < part_count; ++p) {
        const std::int64_t offset = p == static_cast<unsigned>(Part::channel) ? 0 : joined[p].offset.value();
        for (std::size_t i = 0; i < parts[p].log.size(); ++i)
            events.push_back({parts[p].log[i].at.ns + offset, static_cast<Part>(p), i});
    }
    std::stable_sort(events.begin(), events.end(), [](const Event& a, const Event& b) { return a.at < b.at; });

    RunResult result;
    Observer observer(scenario, limits.limits);
    const End output_end = scenario.machine ? scenario.machine->at : End::device;
    Instant sent_at = proto::never;  // never: no telegram is out
    for (const Event& event : events) {
        const Instant now{event.at};
        if (now >= Instant{} + scenario.duration) break;
        const JudgeRecord& r = parts[static_cast<std::size_t>(event.part)].log[event.index];
        if (witnesses.line != nullptr) draw(*witnesses.line, r, now);
        switch (r.kind) {
            case Kind::produced:
                observer.produced(static_cast<Direction>(r.place), r.b, now);
                if (static_cast<Direction>(r.place) == Direction::to_device) sent_at = now;
                break;
            case Kind::parameter:
            case Kind::offered:
            case Kind::delivered:
            case Kind::befell: break;
            case Kind::connected: observer.connected(static_cast<Direction>(r.place)); break;
            case Kind::concluded: {
                const auto token = joined[static_cast<std::size_t>(event.part)].tokens[event.index];
                Tag tag;
                tag.forged = true;  // what the channel did not deliver came from elsewhere
                if (token) tag = true_tag(*token, joined);
                const proto::Verdict verdict = verdict_from(r.b);
                observer.concluded(static_cast<End>(r.place), tag.token(), verdict, now);
                if (static_cast<End>(r.place) == End::controller && verdict.kind == proto::Verdict::Kind::fresh &&
                    sent_at != proto::never) {
                    result.round_trips.push_back(now - sent_at);
                    sent_at = proto::never;
                }
                break;
            }
            case Kind::changed: observer.changed(static_cast<End>(r.place), transition_from(r.a), now); break;
            case Kind::acknowledged: observer.acknowledged(r.a != 0); break;
            case Kind::in_use:
                observer.in_use(static_cast<End>(r.place), r.a, now);
                if (static_cast<End>(r.place) == output_end && observer.demand_open()) observer.output(r.a, now);
                break;
            case Kind::outputs_off:
                observer.outputs_off(static_cast<End>(r.place), now);
                if (static_cast<End>(r.place) == output_end && observer.demand_open()) observer.output(0, now);
                break;
            case Kind::demanded: observer.demanded(r.a, r.b, now); break;
            case Kind::machine: observer.machine(drive_command_from(r.a), now); break;
            case Kind::touched:
                observer.touched(r.a, static_cast<Direction>(r.place), Instant{static_cast<std::int64_t>(r.b)}, now);
                break;
        }
    }
    result.scenario_title = scenario.title;
    result.scenario_file = scenario.file;
    result.plant = scenario.plant;
    result.seed = seed;
    result.live = true;
    observer.finish(result, Instant{} + scenario.duration);
    if (witnesses.line != nullptr) witnesses.line->finish(Instant{} + scenario.duration);
    result.cycles = parts[static_cast<std::size_t>(Part::controller)].scans;
    result.controller = parts[static_cast<std::size_t>(Part::controller)].shown;
    result.device = parts[static_cast<std::size_t>(Part::device)].shown;
    if (scenario.controller.link.exchange == proto::Exchange::streaming) result.round_trips.clear();
    for (const PartRecord& part : parts)
        result.lateness.sorted_ns.insert(result.lateness.sorted_ns.end(), part.lateness_ns.begin(),
                                         part.lateness_ns.end());
    std::sort(result.lateness.sorted_ns.begin(), result.lateness.sorted_ns.end());
    return result;
}

}  // namespace sim
