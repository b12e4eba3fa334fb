#include "tools/desk/bench_told.hpp"

#include <algorithm>
#include <array>
#include <optional>
#include <utility>

#include "sim/desk/desk_bench.hpp"
#include "sim/scenario/errors.hpp"
#include "sim/scenario/reach.hpp"
#include "tools/desk/bench_words.hpp"
#include "tools/desk/typed_plant.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using proto::Duration;
using proto::Instant;

constexpr double um_per_mm = 1e3;
constexpr std::size_t log_lines = 60;
constexpr std::size_t facts_told = 240;

Duration since_begin(Instant at) { return at - Instant{}; }
Value moment(const std::optional<Instant>& at) { return at ? Value(since_begin(*at)) : Value(); }
Value millimetres(const std::optional<std::int64_t>& um) {
    return um ? Value(static_cast<double>(*um) / um_per_mm) : Value();
}

Value end_told(const sim::DeskEnd& end, proto::End which, const BenchTelling& telling, std::size_t link, Instant now) {
    std::uint64_t rejected = 0;
    Value::Object by;
    for (std::size_t i = 0; i < end.counters.rejected.size(); ++i) {
        if (end.counters.rejected[i] == 0) continue;
        rejected += end.counters.rejected[i];
        by.push_back({std::string(word_for(static_cast<proto::Measure>(i))), end.counters.rejected[i]});
    }
    std::string refusal = refusal_in_words(end, which, telling.typed.link(link), telling.typed.ends(link));
    if (refusal.empty() && telling.typed.ends(link).apart && end.state == proto::State::start_up)
        refusal = sim::no_answer_shown;
    Value silence;
    if (end.last_good) silence = now - *end.last_good;
    return Value::Object{{"name", end.name},
                         {"state", id_of(end.state)},
                         {"cause", cause_in_words(end)},
                         {"refusal", Value::text_or_null(refusal)},
                         {"since_ms", since_begin(end.since)},
                         {"silence_ms", std::move(silence)},
                         {"watchdog_ms", end.watchdog},
                         {"sent", end.counters.sent},
                         {"received", end.counters.received},
                         {"accepted", end.counters.accepted},
                         {"rejected", rejected},
                         {"rejected_by", std::move(by)},
                         {"dark", end.dark},
                         {"asks", end.asks_for_acknowledgement}};
}

Value link_told(const sim::DeskLink& link, std::size_t number, const BenchTelling& telling, Instant now) {
    Value::List faults;
    for (const sim::DeskFault& fault : link.faults)
        if (!fault.over)
            faults.push_back(Value::Object{{"n", std::uint64_t{fault.number}},
                                           {"words", fault.words},
                                           {"begins_ms", moment(fault.begins)},
                                           {"touched", fault.touched}});
    return Value::Object{{"name", link.name},
                         {"cable_out", link.cable_out},
                         {"controller", end_told(link.controller, proto::End::controller, telling, number, now)},
                         {"device", end_told(link.device, proto::End::device, telling, number, now)},
                         {"faults", std::move(faults)}};
}

/// What a safeguard must bring about at a machine, by the functions that name it; nothing where none does.
std::optional<sim::StopCategory> must_of(const TypedPlant& typed, const std::string& guard,
                                         const std::string& machine) {
    std::optional<sim::StopCategory> must;
    const auto& functions = typed.is_cell() ? typed.cell().functions : typed.link(0).functions;
    for (const sim::SafetyFunction& function : functions) {
        if (!sim::names(function, guard)) continue;
        for (const sim::MustReact& one : function.must)
            if ((one.machine == machine || machine.empty()) &&
                (!must || sim::command_of(*must) < sim::command_of(one.must)))
                must = one.must;
    }
    return must;
}

/// So long after its contact opened a guard's command should have come, whatever one fault does on the way.
Duration settled_after(const TypedPlant& typed) {
    Duration sum{};
    for (std::size_t i = 0; i < typed.links(); ++i) {
        const sim::Scenario& link = typed.link(i);
        sum = sum + (link.controller.link.watchdog + link.device.link.watchdog) + link.controller.link.cycle * 2 +
              link.device.link.scan * 2;
    }
    return sum;
}

const sim::DeskMachine* machine_called(const sim::DeskShown& shown, const std::string& name) {
    for (const sim::DeskMachine& one : shown.machines)
        if (one.name == name) return &one;
    return nullptr;
}

/// Where an interrupted guard has not brought about what it must: that in words; empty: it has, or nothing is asked.
std::string not_as_meant(const sim::DeskShown& shown, const sim::DeskGuard& guard, const BenchTelling& telling,
                         std::optional<Instant> open_since) {
    if (guard.free || !open_since || shown.at - *open_since < settled_after(telling.typed)) return {};
    std::string words;
    for (const sim::DeskMachine& machine : shown.machines) {
        const auto must = must_of(telling.typed, guard.name, machine.name);
        if (!must || sim::command_of(*must) <= machine.asked) continue;
        words += (words.empty() ? "" : "; ") + machine.name + ": meant " + std::string(words_for(*must)) + ", now " +
                 std::string(words_for(machine.asked));
    }
    return words;
}

/// When the first signal of a guard was last computed anew: about when its contact turned.
std::optional<Instant> turned_at(const sim::DeskShown& shown, const sim::DeskGuard& guard) {
    std::optional<Instant> latest;
    for (const sim::DeskSignal& signal : shown.signals)
        if (std::find(guard.signals.begin(), guard.signals.end(), signal.name) != guard.signals.end() &&
            signal.computed.changed && (!latest || *latest < *signal.computed.changed))
            latest = signal.computed.changed;
    return latest ? latest : std::optional(Instant{});
}

Value guard_told(const sim::DeskShown& shown, const sim::DeskGuard& guard, const BenchTelling& telling) {
    const std::string wrong = not_as_meant(shown, guard, telling, turned_at(shown, guard));
    Value::List meant;
    for (const sim::DeskMachine& machine : shown.machines)
        if (const auto must = must_of(telling.typed, guard.name, machine.name))
            meant.emplace_back(Value::Object{
                {"machine", machine.name}, {"must", words_for(*must)}, {"now", words_for(machine.asked)}});
    return Value::Object{{"name", guard.name},
                         {"kind", guard.kind ? Value(sim::name_of(*guard.kind)) : Value()},
                         {"at", guard.at},
                         {"held", guard.held},
                         {"free", guard.contact_free},
                         {"latched", guard.latched},
                         {"reset_needed", guard.reset_needed},
                         {"signals", Value::list_of(guard.signals)},
                         {"meant", std::move(meant)},
                         {"follows", Value::text_or_null(wrong)}};
}

/// What a 0 of that signal is meant to bring about: by the functions of its guards, else by its own reaction.
std::optional<sim::StopCategory> meant_by(const sim::DeskShown& shown, const TypedPlant& typed,
                                          const sim::DeskSignal& signal) {
    std::optional<sim::StopCategory> meant;
    if (signal.machine.empty()) return meant;
    for (const sim::DeskGuard* const guard : guards_behind(shown, typed, signal.name))
        if (const auto must = must_of(typed, guard->name, signal.machine))
            if (!meant || sim::command_of(*meant) < sim::command_of(*must)) meant = must;
    return meant ? meant : signal.reaction;
}

Value signal_told(const sim::DeskShown& shown, const sim::DeskSignal& signal, const BenchTelling& telling) {
    const sim::DeskMachine* const machine = machine_called(shown, signal.machine);
    const auto meant = meant_by(shown, telling.typed, signal);
    bool differs = false;
    for (const sim::DeskGuard* const guard : guards_behind(shown, telling.typed, signal.name))
        differs =
            differs || (machine != nullptr &&
                        std::find(guard->signals.begin(), guard->signals.end(), signal.name) != guard->signals.end() &&
                        !not_as_meant(shown, *guard, telling, turned_at(shown, *guard)).empty());
    const auto bit = [](const sim::DeskValue& value) { return value.value ? 1 : 0; };
    return Value::Object{{"name", signal.name},
                         {"link", signal.link},
                         {"direction", name_of_way(signal.direction)},
                         {"computed", bit(signal.computed)},
                         {"sent", bit(signal.sent)},
                         {"received", bit(signal.received)},
                         {"used", bit(signal.used)},
                         {"substitute", signal.substitute},
                         {"at_ms", Value::Object{{"computed", moment(signal.computed.changed)},
                                                 {"sent", moment(signal.sent.changed)},
                                                 {"received", moment(signal.received.changed)},
                                                 {"used", moment(signal.used.changed)}}},
                         {"machine", signal.machine},
                         {"reaction_meant", meant ? words_for(*meant) : ""},
                         {"command_now", machine != nullptr ? words_for(machine->asked) : ""},
                         {"differs", differs}};
}

Value machine_told(const sim::DeskMachine& machine, Duration settled) {
    // of a machine that moved, and by a stop that this demand asked for: not one that came long after
    const auto after_demand = [&](const std::optional<Instant>& at) -> Value {
        const bool by_it = machine.last_demand_at && machine.last_stop &&
                           *machine.last_stop >= *machine.last_demand_at &&
                           *machine.last_stop - *machine.last_demand_at <= settled;
        if (!at || !by_it || *at <= *machine.last_stop) return {};
        // what somebody stopped by hand says nothing of the demand
        if (machine.stopped_by_hand && *at >= *machine.stopped_by_hand) return {};
        return *at - *machine.last_demand_at;
    };
    return Value::Object{
        {"name", machine.name},
        {"link", machine.link},
        {"speed_mm_s", static_cast<double>(machine.speed_um_s) / um_per_mm},
        {"full_mm_s", static_cast<double>(machine.full_um_s) / um_per_mm},
        {"position_mm", millimetres(machine.position_um)},
        {"travel_mm", millimetres(machine.travel_um)},
        {"moves", machine.moves},
        {"started", machine.started},
        {"command", machine.started || machine.command != sim::DriveCommand::run ? words_for(machine.command)
                                                                                 : "may run, not started"},
        {"reduced_ms", after_demand(machine.reduced_since)},
        {"stands_ms", after_demand(machine.stands_since)},
        {"last_demand", Value::text_or_null(machine.last_demand)},
        {"emergency_stop", machine.emergency_stop},
        {"stopped_by_hand", machine.stopped_by_hand.has_value()},
        {"refused", Value()}};
}

Value fact_told(const sim::DeskTelegram& telegram, const sim::DeskShown& shown) {
    const std::string_view fate = id_of(telegram.fate);
    return Value::List{telegram.id,
                       shown.links[telegram.link].name,
                       telegram.way == sim::Direction::to_device ? 0 : 1,
                       telegram.number ? Value(std::uint64_t{*telegram.number}) : Value(),
                       since_begin(telegram.made),
                       moment(telegram.due),
                       Value::text_or_null(fate),
                       moment(telegram.fated),
                       telegram.reason};
}

Value acts_told(const std::vector<sim::DeskAct>& acts) {
    constexpr std::size_t shown = 200;
    Value::List list;
    for (std::size_t i = acts.size() > shown ? acts.size() - shown : 0; i < acts.size(); ++i)
        list.push_back(Value::Object{{"n", std::uint64_t{acts[i].number}},
                                     {"at_ms", since_begin(acts[i].at)},
                                     {"words", acts[i].words},
                                     {"refused", Value::text_or_null(acts[i].refused)}});
    return list;
}

Value log_told(const std::deque<sim::DeskEvent>& log) {
    Value::List lines;
    for (std::size_t i = log.size() > log_lines ? log.size() - log_lines : 0; i < log.size(); ++i)
        lines.push_back(Value::Object{{"at_ms", since_begin(log[i].at)},
                                      {"words", (log[i].link.empty() ? "" : log[i].link + ": ") + log[i].words},
                                      {"mark", id_of(log[i].mark)}});
    return lines;
}

}  // namespace

std::vector<const sim::DeskGuard*> guards_behind(const sim::DeskShown& shown, const TypedPlant& typed,
                                                 const std::string& signal) {
    std::vector<std::string> sources{signal};
    const std::vector<sim::Signal>& all = typed.link(0).signals;
    for (std::size_t i = 0; i < sources.size() && sources.size() <= all.size() * 2; ++i)
        for (const sim::Signal& one : all)
            if (one.name == sources[i])
                for (const std::string& source : sim::sources_of(one))
                    if (std::find(sources.begin(), sources.end(), source) == sources.end()) sources.push_back(source);
    std::vector<const sim::DeskGuard*> guards;
    for (const sim::DeskGuard& guard : shown.guards)
        if (std::find(sources.begin(), sources.end(), guard.name) != sources.end()) guards.push_back(&guard);
    return guards;
}

std::string_view name_of(DeskRate rate) {
    switch (rate) {
        case DeskRate::paused: return "paused";
        case DeskRate::slowest: return "1/200";
        case DeskRate::slow: return "1/20";
        case DeskRate::real: return "1/1";
    }
    return "?";
}

Value bench_told(const sim::DeskBench& bench, const BenchTelling& telling) {
    const sim::DeskShown shown = bench.shown();
    Value::List links, guards, signals, machines, facts, rates, modes;
    for (std::size_t i = 0; i < shown.links.size(); ++i)
        links.push_back(link_told(shown.links[i], i, telling, shown.at));
    for (const sim::DeskGuard& guard : shown.guards) guards.push_back(guard_told(shown, guard, telling));
    for (const sim::DeskSignal& signal : shown.signals) signals.push_back(signal_told(shown, signal, telling));
    for (const sim::DeskMachine& machine : shown.machines)
        machines.push_back(machine_told(machine, settled_after(telling.typed)));
    const std::vector<sim::DeskTelegram> telegrams = bench.telegrams();
    for (std::size_t i = telegrams.size() > facts_told ? telegrams.size() - facts_told : 0; i < telegrams.size(); ++i)
        facts.push_back(fact_told(telegrams[i], shown));
    for (const RateChange& one : telling.rates)
        rates.push_back(Value::Object{
            {"at_ms", since_begin(one.plant)}, {"wall_ms", since_begin(one.wall)}, {"rate", name_of(one.rate)}});
    std::string mode;
    for (const sim::DeskMode& one : shown.modes) {
        modes.emplace_back(one.name);
        if (one.selected) mode = one.name;
    }
    return Value::Object{{"runs_typed_at", telling.begun_at},
                         {"old", telling.old},
                         {"as_written", telling.as_written},
                         {"rate", name_of(telling.rate)},
                         {"at_ms", since_begin(shown.at)},
                         {"links", std::move(links)},
                         {"guards", std::move(guards)},
                         {"signals", std::move(signals)},
                         {"machines", std::move(machines)},
                         {"acts", acts_told(bench.acts())},
                         {"log", log_told(bench.log())},
                         {"facts", std::move(facts)},
                         {"rates", std::move(rates)},
                         {"modes", std::move(modes)},
                         {"mode", mode},
                         {"refused", Value::text_or_null(telling.refused)}};
}

Value telegram_explained(const sim::DeskBench& bench, std::uint64_t telegram) {
    const auto explained = bench.explain(telegram);
    if (!explained) return {};
    Value::List fields;
    for (const sim::DeskField& field : explained->fields)
        fields.push_back(Value::Object{{"name", field.name},
                                       {"bytes", field.bytes},
                                       {"sent", field.sent},
                                       {"meaning", field.meaning},
                                       {"covered", field.covered ? "yes" : "no"},
                                       {"expected", Value::text_or_null(field.expected)},
                                       {"found", Value::text_or_null(field.found)}});
    return Value::Object{{"fields", std::move(fields)}, {"words", explained->words}};
}

}  // namespace tools
