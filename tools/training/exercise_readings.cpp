// What each instrument shows: only what somebody at the plant could read by now.
#include "tools/training/exercise_readings.hpp"

#include <algorithm>

#include "sim/capture/explain.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/training/words.hpp"
#include "tools/text/addresses.hpp"

namespace tools {
namespace {

using proto::Instant;
using sim::End;

// what is shown of what is kept: the begin and the latest of many events, and of the telegrams those nearest to the
// stop
constexpr std::size_t events_first = 12, events_last = 28;
constexpr std::size_t around_from = 46, around_to = 76;

/// A link as the drill has it, without what the trainer's hand put in.
const sim::Scenario& drilled(const Exercise& exercise, const sim::Bench& link) {
    const std::optional<sim::WholeCell>& cell = exercise.drill().cell;
    return cell ? cell->links[cell->link_called(link.link_name())].alone : exercise.drill().scenario;
}

/// Whose fault that is: what is wrong in the drill, something in it that is over and not what is wrong, or the
/// trainer's.
EventId fault_event(const Exercise& exercise, const sim::Bench& link, std::size_t fault) {
    if (fault >= drilled(exercise, link).faults.size()) return "fault-by-hand";
    const std::vector<std::string>& what = exercise.drill().right.what;
    return std::find(what.begin(), what.end(), "nothing") == what.end() ? EventId("fault") : EventId("fault-past");
}

Value event_line(const Exercise& exercise, const sim::Bench& bench, const sim::BenchEvent& event) {
    using Kind = sim::BenchEvent::Kind;
    const auto line = [&](EventId what, Value about = {}, Value more = {}) -> Value {
        return Value::Object{{"at", plant_seconds(event.at)},
                             {"what", what.id()},
                             {"about", std::move(about)},
                             {"more", std::move(more)}};
    };
    const auto guard_line = [&](EventId what) {
        const sim::Safeguard& guard = bench.scenario().safeguards[event.detail];
        return line(what, spoken(guard.name), kind_of(guard));
    };
    switch (event.kind) {
        case Kind::changed: {
            const std::string_view cause =
                event.transition->cause == proto::Cause::rejected_telegram && event.transition->measure
                    ? proto::name_of(*event.transition->measure)
                    : sim::id_of(event.transition->cause);
            return Value::Object{{"at", plant_seconds(event.at)},
                                 {"what", EventId("changed").id()},
                                 {"about", bench.scenario().end(event.end).name},
                                 {"state", sim::id_of(event.transition->to)},
                                 {"more", cause}};
        }
        case Kind::acknowledged: return line("acknowledged");
        case Kind::acknowledged_in_vain: return line("acknowledged-in-vain");
        case Kind::contact_stuck: return line("contact-stuck");
        case Kind::machine_started: return line("machine-started");
        case Kind::machine_not_started: return line("machine-not-started", Value(not_started_words[event.detail].id));
        case Kind::machine_commanded:
            return line(event.detail == 0 ? EventId("machine-may-run") : EventId("machine-told-to-stop"));
        case Kind::demanded: return guard_line("demanded");
        case Kind::guard_asked: return guard_line("guard-asked");
        case Kind::reached_in: return guard_line("reached-in");
        case Kind::released:
            return guard_line(bench.scenario().safeguards[event.detail].latched ? EventId("released-latched")
                                                                                : EventId("released"));
        case Kind::reset: return guard_line("reset");
        case Kind::emergency_stop:
            return line(event.detail != 0 ? EventId("emergency-pressed") : EventId("emergency-pulled"));
        case Kind::isolated: return line(event.detail != 0 ? EventId("isolated") : EventId("given-back"));
        case Kind::fault: {
            const sim::Fault& fault = bench.scenario().faults[event.detail];
            return line(
                fault_event(exercise, bench, event.detail),
                Value(fault.error == sim::ErrorKind::none ? sim::name_of(fault.way) : sim::name_of(fault.error)));
        }
        case Kind::refused: return line("refused");
    }
    return {};
}

}  // namespace

Value plant_seconds(Instant at) {
    const std::int64_t whole_ms = at.ns / 1'000'000;
    return static_cast<double>(whole_ms) / 1000.0;
}

std::string spoken(std::string name) {
    std::replace(name.begin(), name.end(), '_', ' ');
    return name;
}

std::string_view kind_of(const sim::Safeguard& guard) { return guard.kind ? sim::name_of(*guard.kind) : "other"; }

Value::List strip_of(const std::vector<sim::StripSample>& samples, std::size_t every) {
    Value::List strip;
    for (std::size_t i = 0; i < samples.size(); i += every) {
        const sim::StripSample& s = samples[i];
        const auto silence = [&](unsigned end) {
            return s.silence[end] ? Value(s.silence[end]->ns / 1'000'000) : Value();
        };
        strip.push_back(Value::List{plant_seconds(s.at), s.speed_um_s / 1000, silence(0), silence(1),
                                    s.safeguards_and_used[0], s.safeguards_and_used[1], s.demanded,
                                    static_cast<unsigned>(s.states[0]) * 4 + static_cast<unsigned>(s.states[1])});
    }
    return strip;
}

std::vector<const sim::Bench*> benches_of(const Exercise& exercise) {
    std::vector<const sim::Bench*> all;
    for (std::size_t i = 0; i < exercise.bench().links(); ++i) all.push_back(&exercise.bench().of_link(i));
    return all;
}

Value::List events_between(const Exercise& exercise, Instant from, Instant to, bool all) {
    std::vector<std::pair<Instant, Value>> lines;
    for (const sim::Bench* const link : benches_of(exercise))
        for (const sim::BenchEvent& event : link->events()) {
            if (event.at < from || event.at > to || (!all && event.secret())) continue;
            const Value line = event_line(exercise, *link, event);
            Value::Object with = *line.object();
            if (!link->link_name().empty()) with.push_back({"link", link->link_name()});
            lines.emplace_back(event.at, std::move(with));
        }
    std::stable_sort(lines.begin(), lines.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
    Value::List events;
    for (auto& [at, line] : lines) events.push_back(std::move(line));
    return events;
}

namespace {

bool near_a_stop(const sim::Bench& bench, Instant at) {
    const auto near = [&](End end) {
        const std::optional<Instant> stop = bench.first_stop(end);
        return stop && at + proto::milliseconds(500) > *stop && at < *stop + proto::milliseconds(500);
    };
    return near(End::controller) || near(End::device);
}

/// Each second one of those that stay and of the latest, and all around the first stop; in order of time.
std::vector<sim::StripSample> samples_shown(const sim::Bench& bench) {
    std::vector<sim::StripSample> kept;
    for (const auto* const around : {&bench.record().around_stop.samples(), &bench.record().around_demands.samples()})
        kept.insert(kept.end(), around->begin(), around->end());
    const auto sooner = [](const sim::StripSample& a, const sim::StripSample& b) { return a.at < b.at; };
    std::stable_sort(kept.begin(), kept.end(), sooner);
    const auto same = [](const sim::StripSample& a, const sim::StripSample& b) { return a.at == b.at; };
    kept.erase(std::unique(kept.begin(), kept.end(), same), kept.end());
    const auto& latest = bench.record().latest;
    const auto is_kept = [&](const sim::StripSample& one) {
        return std::binary_search(kept.begin(), kept.end(), one, sooner);
    };
    std::vector<sim::StripSample> shown;
    for (std::size_t i = 0; i < kept.size(); ++i)
        if (i % 2 == 0 || near_a_stop(bench, kept[i].at)) shown.push_back(kept[i]);
    for (std::size_t i = 0; i < latest.size(); i += 2)
        if (!is_kept(latest[i])) shown.push_back(latest[i]);
    std::stable_sort(shown.begin(), shown.end(), sooner);
    return shown;
}

}  // namespace

Value time_line_reading(const Exercise& exercise, const sim::Bench& bench) {
    Value::List events = events_between(exercise, Instant{}, bench.now(), exercise.by_hand().cause_shown);
    const auto other = [](Instant at, EventId what, Value about) {
        return Value::Object{
            {"at", plant_seconds(at)}, {"what", what.id()}, {"about", std::move(about)}, {"more", Value()}};
    };
    events.insert(events.begin(), other(bench.record().begins, "record-begins", Value()));
    if (events.size() > events_first + events_last) {
        const std::size_t left_out = events.size() - events_first - events_last;
        std::size_t forgotten = 0;
        for (const sim::Bench* const link : benches_of(exercise)) forgotten += link->record().events_forgotten;
        const auto from = events.begin() + events_first;
        *from = Value::Object{{"at", *from->find("at")},
                              {"what", EventId("left-out").id()},
                              {"about", std::to_string(left_out + forgotten)},
                              {"more", Value()}};
        events.erase(from + 1, from + static_cast<std::ptrdiff_t>(left_out));
    }
    return Value::Object{{"events", std::move(events)}, {"strip", strip_of(samples_shown(bench))}};
}

Value telegram_reading(const Exercise& exercise, const sim::Bench& link, const sim::Seen& seen) {
    VerdictId verdict = "sent";
    Value measure;
    if (seen.kind == sim::Seen::Kind::arrived) {
        using Kind = proto::Verdict::Kind;
        verdict = "waiting";
        if (seen.verdict) switch (seen.verdict->kind) {
                case Kind::fresh: verdict = "accepted"; break;
                case Kind::repeat: verdict = "again"; break;
                case Kind::ignored: verdict = "ignored"; break;
                case Kind::handshake: verdict = "start"; break;
                case Kind::rejected:
                    verdict = "rejected";
                    measure = Value(proto::name_of(seen.verdict->failed.first()));
                    break;
            }
    }
    const std::int64_t tenths_of_ms = seen.at.ns / 100'000;
    return Value::Object{{"at", static_cast<double>(tenths_of_ms) / 10000.0},
                         {"kind", seen.kind == sim::Seen::Kind::sent ? "sent" : "arrived"},
                         {"end", link.scenario().end(seen.end).name},
                         {"number", Value::of(seen.number)},
                         {"verdict", verdict.id()},
                         {"measure", std::move(measure)},
                         {"bits_changed", seen.bits_changed},
                         // whose it is only the observer knows: a receiver finds that it does not fit
                         {"fits", exercise.over() && seen.fits_address ? describe(*seen.fits_address) : Value()},
                         {"bytes", sim::in_hex(seen.bytes)}};
}

Value telegrams_reading(const Exercise& exercise, const sim::Bench& link) {
    Value::List held, latest;
    const auto& around = link.recorder().around_first_stop();
    for (std::size_t i = around_from; i < std::min(around_to, around.size()); ++i)
        held.push_back(telegram_reading(exercise, link, around[i]));
    // ten times a second nobody reads them, and they are most of what a page is sent
    for (const sim::Seen& seen : link.recorder().readable(link.now()))
        latest.push_back(telegram_reading(exercise, link, seen));
    return Value::Object{{"around_stop", std::move(held)}, {"latest", std::move(latest)}};
}

Value settings_reading(const sim::Scenario& sheet, const sim::Scenario& typed) {
    Value::List rows;
    const auto row = [&](SettingId what, Value on_sheet, Value controller, Value device, std::string about = {}) {
        rows.push_back(Value::Object{{"what", what.id()},
                                     {"about", std::move(about)},
                                     {"sheet", std::move(on_sheet)},
                                     {"controller", std::move(controller)},
                                     {"device", std::move(device)}});
    };
    const auto ms = [](proto::Duration d) { return Value(exact_ms(d) + " ms"); };
    const proto::LinkSettings& s = sheet.device.link;
    const proto::LinkSettings& c = typed.controller.link;
    const proto::LinkSettings& d = typed.device.link;
    row("controller-address", describe(sheet.device.peer_address()), describe(typed.controller.own_address()),
        describe(typed.device.peer_address()));
    row("io-address", describe(sheet.device.own_address()), describe(typed.controller.peer_address()),
        describe(typed.device.own_address()));
    row("cycle", ms(s.cycle), ms(c.cycle), ms(d.cycle));
    row("controller-watchdog", ms(s.peer_watchdog), ms(c.watchdog), ms(d.peer_watchdog));
    row("io-watchdog", ms(s.watchdog), ms(c.peer_watchdog), ms(d.watchdog));
    for (const sim::TypedBit& bit : sheet.controller.bits) {
        const auto place = [&](const sim::TypedEnd& end) {
            for (const sim::TypedBit& other : end.bits)
                if (other.signal == bit.signal)
                    return Value(std::to_string(other.place.byte) + "." + std::to_string(other.place.bit));
            return Value();
        };
        row("bit", place(sheet.controller), place(typed.controller), place(typed.device), spoken(bit.signal));
    }
    return rows;
}

Value neighbour_reading(const Exercise& exercise) {
    Value::List ends;
    for (const End end : {End::controller, End::device})
        if (const auto panel = exercise.bench().neighbour(end)) {
            const sim::Neighbour& typed = *exercise.bench().scenario().neighbour;
            std::uint64_t rejected = 0;
            for (const std::uint64_t count : panel->counters.rejected) rejected += count;
            ends.push_back(Value::Object{
                {"name", panel->name},
                {"end", end == End::controller ? "controller" : "I/O"},
                {"state", sim::id_of(panel->state)},
                {"refusal", panel->refusal == proto::Refusal::none ? Value() : Value(proto::name_of(panel->refusal))},
                {"address", describe(typed.address_of(end))},
                {"number_sent", panel->counters.number_sent},
                {"received", panel->counters.received},
                {"rejected", rejected}});
        }
    return ends;
}

}  // namespace tools
