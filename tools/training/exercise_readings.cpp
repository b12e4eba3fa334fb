// What each instrument shows: only what somebody at the plant could read by now.
#include "tools/training/exercise_readings.hpp"

#include "sim/capture/explain.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/training/words.hpp"

namespace tools {
namespace {

using proto::Instant;
using sim::End;

constexpr std::size_t events_shown = 60;

Value event_line(const sim::Bench& bench, const sim::BenchEvent& event) {
    using Kind = sim::BenchEvent::Kind;
    const auto line = [&](EventId what, Value about = {}, Value more = {}) -> Value {
        return Value::Object{{"at", plant_seconds(event.at)},
                             {"what", what.id()},
                             {"about", std::move(about)},
                             {"more", std::move(more)}};
    };
    const auto guard = [&] { return Value(bench.scenario().safeguards[event.detail].name); };
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
        case Kind::machine_not_started: return line("machine-not-started", Value(start_refusal_words[event.detail].id));
        case Kind::machine_commanded:
            return line(event.detail == 0 ? EventId("machine-may-run") : EventId("machine-told-to-stop"));
        case Kind::demanded: return line("demanded", guard());
        case Kind::released: return line("released", guard());
        case Kind::reset: return line("reset", guard());
        case Kind::emergency_stop:
            return line(event.detail != 0 ? EventId("emergency-pressed") : EventId("emergency-pulled"));
        case Kind::isolated: return line(event.detail != 0 ? EventId("isolated") : EventId("given-back"));
        case Kind::fault: {
            const sim::Fault& fault = bench.scenario().faults[event.detail];
            return line("fault", Value(fault.error == sim::ErrorKind::none ? sim::name_of(fault.way)
                                                                           : sim::name_of(fault.error)));
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

Value::List strip_of(const std::vector<sim::StripSample>& samples) {
    Value::List strip;
    for (const sim::StripSample& s : samples) {
        const auto silence = [&](unsigned end) {
            return s.silence[end] ? Value(s.silence[end]->ns / 1'000'000) : Value();
        };
        strip.push_back(Value::List{plant_seconds(s.at), s.speed_um_s / 1000, silence(0), silence(1),
                                    s.safeguards_and_used[0], s.safeguards_and_used[1]});
    }
    return strip;
}

Value::List events_between(const Exercise& exercise, Instant from, Instant to, bool all) {
    Value::List events;
    for (const sim::BenchEvent& event : exercise.bench().events())
        if (event.at >= from && event.at <= to && (all || !event.secret()))
            events.push_back(event_line(exercise.bench(), event));
    return events;
}

Value time_line_reading(const Exercise& exercise) {
    const auto& all = exercise.bench().events();
    const Instant from = all.size() > events_shown ? all[all.size() - events_shown].at : Instant{};
    std::vector<sim::StripSample> samples;
    for (std::size_t i = 0; i < exercise.bench().strip().size(); i += 2) samples.push_back(exercise.bench().strip()[i]);
    return Value::Object{{"events", events_between(exercise, from, exercise.bench().now(), exercise.cause_shown())},
                         {"strip", strip_of(samples)}};
}

Value telegram_reading(const Exercise& exercise, const sim::Seen& seen) {
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
                         {"end", exercise.bench().scenario().end(seen.end).name},
                         {"number", Value::of(seen.number)},
                         {"verdict", verdict.id()},
                         {"measure", std::move(measure)},
                         {"bits_changed", seen.bits_changed},
                         {"fits", seen.fits_address ? Value(*seen.fits_address) : Value()},
                         {"bytes", sim::in_hex(seen.bytes)}};
}

Value telegrams_reading(const Exercise& exercise) {
    Value::List held, latest;
    for (const sim::Seen& seen : exercise.bench().recorder().around_first_stop())
        held.push_back(telegram_reading(exercise, seen));
    const auto& all = exercise.bench().recorder().latest();
    constexpr std::size_t shown = 40;
    for (std::size_t i = all.size() > shown ? all.size() - shown : 0; i < all.size(); ++i)
        latest.push_back(telegram_reading(exercise, all[i]));
    return Value::Object{{"around_stop", std::move(held)}, {"latest", std::move(latest)}};
}

Value settings_reading(const Exercise& exercise) {
    Value::List rows;
    const sim::Scenario& sheet = exercise.drill().link_sheet;
    const sim::Scenario& typed = exercise.drill().scenario;
    const auto row = [&](SettingId what, Value on_sheet, Value controller, Value device, std::string_view about = {}) {
        rows.push_back(Value::Object{{"what", what.id()},
                                     {"about", about},
                                     {"sheet", std::move(on_sheet)},
                                     {"controller", std::move(controller)},
                                     {"device", std::move(device)}});
    };
    const auto ms = [](proto::Duration d) { return Value(exact_ms(d) + " ms"); };
    const proto::LinkSettings& s = sheet.device.link;
    const proto::LinkSettings& c = typed.controller.link;
    const proto::LinkSettings& d = typed.device.link;
    row("controller-address", s.peer_address, c.own_address, d.peer_address);
    row("io-address", s.own_address, c.peer_address, d.own_address);
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
        row("bit", place(sheet.controller), place(typed.controller), place(typed.device), bit.signal);
    }
    return rows;
}

Value neighbour_reading(const Exercise& exercise) {
    Value::List ends;
    for (const End end : {End::controller, End::device})
        if (const auto panel = exercise.bench().neighbour(end)) {
            std::uint64_t rejected = 0;
            for (const std::uint64_t count : panel->counters.rejected) rejected += count;
            ends.push_back(Value::Object{
                {"name", panel->name},
                {"end", end == End::controller ? "controller" : "I/O"},
                {"state", sim::id_of(panel->state)},
                {"refusal", panel->refusal == proto::Refusal::none ? Value() : Value(proto::name_of(panel->refusal))},
                {"received", panel->counters.received},
                {"rejected", rejected}});
        }
    return ends;
}

}  // namespace tools
