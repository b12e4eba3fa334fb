// What the trainee's page shows: only what somebody at the plant could read by now.
#include <algorithm>

#include "sim/training/words.hpp"
#include "tools/trainer.hpp"

namespace tools {
namespace {

using proto::Instant;
using sim::End;

bool has(const std::vector<std::string>& list, std::string_view id) {
    return std::find(list.begin(), list.end(), id) != list.end();
}

std::string hex(const std::vector<std::uint8_t>& bytes) {
    constexpr std::string_view digits = "0123456789ABCDEF";
    std::string text;
    for (const std::uint8_t byte : bytes) {
        if (!text.empty()) text += ' ';
        text += digits[byte >> 4];
        text += digits[byte & 15];
    }
    return text;
}

Value seconds(proto::Instant at) { return static_cast<double>(at.ns / 1'000'000) / 1000.0; }

Value end_state(const Exercise& exercise, End end) {
    const sim::Panel p = exercise.bench->panel(end);
    Value::Object rejected;
    std::uint64_t all = 0;
    for (unsigned i = 0; i < proto::measure_count; ++i) {
        all += p.counters.rejected[i];
        if (p.counters.rejected[i] > 0)
            rejected.push_back({std::string(proto::name_of(static_cast<proto::Measure>(i))), p.counters.rejected[i]});
    }
    const bool before_run = p.starts == 1;
    const std::string& told =
        end == End::controller ? exercise.drill.on_since_controller : exercise.drill.on_since_device;
    const auto& trip = exercise.bench->recorder().round_trip();
    Value::Object state{{"name", p.name},
                        {"state", sim::id_of(p.state)},
                        {"cause", p.cause ? Value(sim::id_of(*p.cause)) : Value()},
                        {"measure", p.measure ? Value(proto::name_of(*p.measure)) : Value()},
                        {"refusal", p.refusal == proto::Refusal::none ? Value() : Value(proto::name_of(p.refusal))},
                        {"received", p.counters.received},
                        {"per_second", p.received_per_second},
                        {"accepted", p.counters.accepted},
                        {"sent", p.counters.sent},
                        {"number_sent", p.counters.number_sent},
                        {"number_received", p.counters.number_received},
                        {"rejected", all},
                        {"rejected_by", std::move(rejected)},
                        {"last_good_ms", p.last_good ? Value(exercise.bench->now() - *p.last_good) : Value()},
                        {"watchdog_ms", p.watchdog},
                        {"longest_cycle_ms", p.longest_cycle},
                        {"cycle_ms", p.scan},
                        {"on_since", before_run ? Value(told) : Value()},
                        {"on_for_ms", before_run ? Value() : Value(exercise.bench->now() - p.on_since)},
                        {"starts", p.starts},
                        {"age_ms", Value::of(exercise.bench->recorder().age(end).last)}};
    if (end == End::controller) {
        state.push_back({"trip_ms", Value::of(trip.last)});
        state.push_back({"longest_trip_ms", Value::of(trip.longest)});
        state.push_back({"longest_trip_at", trip.longest ? seconds(trip.longest_at) : Value()});
    }
    return state;
}

Value signals_state(const sim::Bench& bench) {
    Value::List all;
    for (const sim::SignalShown& signal : bench.signals())
        all.push_back(Value::Object{{"name", signal.name},
                                    {"way", signal.direction == sim::Direction::to_device ? "out" : "back"},
                                    {"sent", signal.sent},
                                    {"used", signal.used},
                                    {"substitute", signal.substitute}});
    return all;
}

Value guards_state(const sim::Bench& bench) {
    Value::List all;
    for (std::size_t i = 0; i < bench.scenario().safeguards.size(); ++i)
        all.push_back(Value::Object{{"name", bench.scenario().safeguards[i].name},
                                    {"free", bench.free(i)},
                                    {"latched", bench.latched(i)},
                                    {"resets", bench.scenario().safeguards[i].latched}});
    return all;
}

Value event_line(const sim::Bench& bench, const sim::BenchEvent& event) {
    using Kind = sim::BenchEvent::Kind;
    const auto line = [&](std::string_view what, Value about = {}, Value more = {}) -> Value {
        return Value::Object{
            {"at", seconds(event.at)}, {"what", what}, {"about", std::move(about)}, {"more", std::move(more)}};
    };
    const auto guard = [&] { return Value(bench.scenario().safeguards[event.detail].name); };
    switch (event.kind) {
        case Kind::changed: {
            const std::string_view cause =
                event.transition->cause == proto::Cause::rejected_telegram && event.transition->measure
                    ? proto::name_of(*event.transition->measure)
                    : sim::id_of(event.transition->cause);
            return Value::Object{{"at", seconds(event.at)},
                                 {"what", "changed"},
                                 {"about", bench.scenario().end(event.end).name},
                                 {"state", sim::id_of(event.transition->to)},
                                 {"more", cause}};
        }
        case Kind::acknowledged: return line("acknowledged");
        case Kind::acknowledged_in_vain: return line("acknowledged-in-vain");
        case Kind::contact_stuck: return line("contact-stuck");
        case Kind::machine_started: return line("machine-started");
        case Kind::machine_not_started: return line("machine-not-started");
        case Kind::machine_commanded: return line(event.detail == 0 ? "machine-may-run" : "machine-told-to-stop");
        case Kind::demanded: return line("demanded", guard());
        case Kind::released: return line("released", guard());
        case Kind::reset: return line("reset", guard());
        case Kind::fault: {
            const sim::Fault& fault = bench.scenario().faults[event.detail];
            return line("fault", Value(fault.error == sim::ErrorKind::none ? sim::name_of(fault.way)
                                                                           : sim::name_of(fault.error)));
        }
        case Kind::refused: return line("refused");
    }
    return {};
}

Value time_line(const Exercise& exercise) {
    constexpr std::size_t shown = 60;
    Value::List events;
    const auto& all = exercise.bench->events();
    for (std::size_t i = all.size() > shown ? all.size() - shown : 0; i < all.size(); ++i)
        if (!all[i].secret() || exercise.step == 5 || exercise.cause_shown)
            events.push_back(event_line(*exercise.bench, all[i]));
    Value::List strip;
    const auto& samples = exercise.bench->strip();
    for (std::size_t i = 0; i < samples.size(); i += 2) {
        const sim::StripSample& s = samples[i];
        const auto silence = [&](unsigned end) {
            return s.silence[end] ? Value(s.silence[end]->ns / 1'000'000) : Value();
        };
        strip.push_back(Value::List{seconds(s.at), s.speed_um_s / 1000, silence(0), silence(1),
                                    s.safeguards_and_used[0], s.safeguards_and_used[1]});
    }
    return Value::Object{{"events", std::move(events)}, {"strip", std::move(strip)}};
}

Value telegram(const Exercise& exercise, const sim::Seen& seen) {
    std::string_view verdict = "sent";
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
    return Value::Object{{"at", static_cast<double>(seen.at.ns / 100'000) / 10000.0},
                         {"kind", seen.kind == sim::Seen::Kind::sent ? "sent" : "arrived"},
                         {"end", exercise.bench->scenario().end(seen.end).name},
                         {"number", Value::of(seen.number)},
                         {"verdict", verdict},
                         {"measure", std::move(measure)},
                         {"bits_changed", seen.bits_changed},
                         {"fits", seen.fits_address ? Value(*seen.fits_address) : Value()},
                         {"bytes", hex(seen.bytes)}};
}

Value telegrams(const Exercise& exercise) {
    Value::List held, latest;
    for (const sim::Seen& seen : exercise.bench->recorder().around_first_stop())
        held.push_back(telegram(exercise, seen));
    const auto& all = exercise.bench->recorder().latest();
    constexpr std::size_t shown = 40;
    for (std::size_t i = all.size() > shown ? all.size() - shown : 0; i < all.size(); ++i)
        latest.push_back(telegram(exercise, all[i]));
    return Value::Object{{"around_stop", std::move(held)}, {"latest", std::move(latest)}};
}

Value settings(const Exercise& exercise) {
    Value::List rows;
    const sim::Scenario& sheet = exercise.drill.link_sheet;
    const sim::Scenario& typed = exercise.drill.scenario;
    const auto row = [&](std::string_view what, Value on_sheet, Value controller, Value device) {
        rows.push_back(Value::Object{{"what", what},
                                     {"sheet", std::move(on_sheet)},
                                     {"controller", std::move(controller)},
                                     {"device", std::move(device)}});
    };
    const auto ms = [](proto::Duration d) { return Value(exact_ms(d) + " ms"); };
    const proto::LinkSettings& s = sheet.device.link;
    const proto::LinkSettings& c = typed.controller.link;
    const proto::LinkSettings& d = typed.device.link;
    row("address of the controller", s.peer_address, c.own_address, d.peer_address);
    row("address of the I/O", s.own_address, c.peer_address, d.own_address);
    row("cycle", ms(s.cycle), ms(c.cycle), ms(d.cycle));
    row("watchdog of the controller", ms(s.peer_watchdog), ms(c.watchdog), ms(d.peer_watchdog));
    row("watchdog of the I/O", ms(s.watchdog), ms(c.peer_watchdog), ms(d.watchdog));
    for (const sim::TypedBit& bit : sheet.controller.bits) {
        const auto place = [&](const sim::TypedEnd& end) {
            for (const sim::TypedBit& other : end.bits)
                if (other.signal == bit.signal)
                    return Value(std::to_string(other.place.byte) + "." + std::to_string(other.place.bit));
            return Value();
        };
        row("bit of " + bit.signal, place(sheet.controller), place(typed.controller), place(typed.device));
    }
    return rows;
}

Value neighbour(const Exercise& exercise) {
    Value::List ends;
    for (const End end : {End::controller, End::device})
        if (const auto panel = exercise.bench->neighbour(end)) {
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

Value reasons(const std::vector<sim::Reasoned>& list) {
    Value::List all;
    for (const sim::Reasoned& one : list) all.push_back(Value::Object{{"id", one.id}, {"why", one.why}});
    return all;
}

Value score_state(const Exercise& exercise) {
    if (!exercise.score) return {};
    static constexpr std::string_view parts[] = {"secure", "evidence", "diagnosis", "action"};
    static constexpr std::string_view says[] = {"missing", "right",       "half-right", "wrong",
                                                "no-help", "wrong-order", "not-telling"};
    const sim::Score& score = *exercise.score;
    Value::List remarks;
    for (const sim::Remark& remark : score.remarks)
        remarks.push_back(Value::Object{{"part", parts[static_cast<std::size_t>(remark.part)]},
                                        {"about", remark.about},
                                        {"says", says[static_cast<std::size_t>(remark.says)]},
                                        {"why", remark.why}});
    const bool points = score.dangerous.empty();
    Value::List alike;
    for (const unsigned number : exercise.drill.look_alikes) alike.emplace_back(number);
    return Value::Object{{"result", exercise.broken.empty() ? name_of(score.result) : std::string_view("drill-broken")},
                         {"points", points ? Value(score.points()) : Value()},
                         {"secure", score.secure},
                         {"evidence", score.evidence},
                         {"diagnosis", score.diagnosis},
                         {"action", score.action},
                         {"dangerous", reasons(score.dangerous)},
                         {"remarks", std::move(remarks)},
                         {"cause", exercise.drill.cause},
                         {"debrief", exercise.drill.debrief},
                         {"right_where", Value::list_of(exercise.drill.right.where)},
                         {"right_what", Value::list_of(exercise.drill.right.what)},
                         {"needed", reasons(exercise.drill.needed)},
                         {"look_alikes", std::move(alike)},
                         {"ran_on_ms", Value::of(exercise.bench->ran_on())}};
}

}  // namespace

Value exercise_state(const Exercise& exercise, const std::vector<sim::ActionCard>& cards) {
    const sim::Bench& bench = *exercise.bench;
    const bool all = exercise.step == 5;
    const auto shows = [&](std::string_view instrument) { return all || has(exercise.used, instrument); };
    Value::List log, hints, deck;
    for (const LogLine& line : exercise.log)
        log.push_back(Value::Object{{"at", seconds(line.at)}, {"what", line.what}, {"about", line.about}});
    for (unsigned i = 0; i < exercise.hints && i < exercise.drill.hints.size(); ++i)
        hints.emplace_back(exercise.drill.hints[i]);
    if (exercise.step == 4 || all)
        for (const sim::ActionCard& card : cards) deck.push_back(Value::Object{{"id", card.id}, {"words", card.words}});
    const std::int64_t full = bench.scenario().machine ? bench.scenario().machine->speed_um_s : 0;
    return Value::Object{
        {"drill", Value::Object{{"number", exercise.drill.number},
                                {"title", exercise.drill.title},
                                {"plant", exercise.drill.plant},
                                {"story", exercise.drill.story},
                                {"people", exercise.drill.people}}},
        {"step", exercise.step},
        {"paused", exercise.clock.pace() == sim::Pace::paused},
        {"plant_time", seconds(bench.now())},
        {"begins", exercise.drill.clock},
        {"minutes", exercise.minutes},
        {"machine", Value::Object{{"name", bench.scenario().machine ? bench.scenario().machine->name : ""},
                                  {"moves", bench.machine_moves()},
                                  {"speed", bench.speed_um_s() / 1000},
                                  {"full", full / 1000},
                                  {"position", bench.position_um() / 1000}}},
        {"request", bench.panel(End::controller).asks_for_acknowledgement},
        {"acknowledge_contact", bench.acknowledge_contact()},
        {"controller", shows("controller-panel") ? end_state(exercise, End::controller) : Value()},
        {"io", shows("io-panel") ? end_state(exercise, End::device) : Value()},
        {"signals", exercise.step > 1 ? signals_state(bench) : Value(Value::List{})},
        {"guards", guards_state(bench)},
        {"time_line", shows("time-line") ? time_line(exercise) : Value()},
        {"telegrams", shows("telegrams") ? telegrams(exercise) : Value()},
        {"settings", shows("settings") ? settings(exercise) : Value()},
        {"neighbour", shows("neighbour") ? neighbour(exercise) : Value()},
        {"used", Value::list_of(exercise.used)},
        {"conduct", Value::list_of(exercise.answers.conduct)},
        {"kept", Value::list_of(exercise.answers.kept)},
        {"cannot_tell", exercise.answers.cannot_tell},
        {"where", exercise.answers.where},
        {"what", exercise.answers.what},
        {"because", exercise.answers.because},
        {"actions", Value::list_of(exercise.answers.actions)},
        {"cards", std::move(deck)},
        {"hints", std::move(hints)},
        {"log", std::move(log)},
        {"warned",
         exercise.warned ? Value(Value::Object{{"id", exercise.warned->id}, {"why", exercise.warned->why}}) : Value()},
        {"cause", exercise.cause_shown ? Value(exercise.drill.cause) : Value()},
        {"score", score_state(exercise)}};
}

}  // namespace tools
