// What the trainee's page shows: only what somebody at the plant could read by now.
#include <algorithm>
#include <functional>

#include "sim/scenario/scenario.hpp"
#include "sim/training/measured_here.hpp"
#include "sim/training/words.hpp"
#include "tools/training/exercise_readings.hpp"

namespace tools {
namespace {

using proto::Instant;
using sim::End;

bool has(const std::vector<std::string>& list, std::string_view id) {
    return std::find(list.begin(), list.end(), id) != list.end();
}

/// Of an hour such as "14:31:30".
proto::Duration since_midnight(const std::string& clock) {
    const auto two = [&](std::size_t from) { return (clock[from] - '0') * 10 + clock[from + 1] - '0'; };
    return proto::seconds((two(0) * 60 + two(3)) * 60 + two(6));
}

Value end_state(const Exercise& exercise, const sim::Bench& bench, End end) {
    const sim::Panel p = bench.panel(end);
    if (p.dark) return Value::Object{{"name", p.name}, {"dark", true}};
    Value::Object rejected;
    std::uint64_t all = 0;
    for (unsigned i = 0; i < proto::measure_count; ++i) {
        all += p.counters.rejected[i];
        if (p.counters.rejected[i] > 0)
            rejected.push_back({std::string(proto::name_of(static_cast<proto::Measure>(i))), p.counters.rejected[i]});
    }
    const proto::Instant now = bench.now();
    const proto::Duration before_run = exercise.drill().on_for[static_cast<std::size_t>(end)];
    const proto::Duration on_for = p.starts == 1 ? before_run + (now - Instant{}) : now - p.on_since;
    const unsigned at_first = before_run < since_midnight(exercise.drill().clock) ? 1 : 0;
    const sim::Scenario& scenario = bench.scenario();
    const sim::Measured &trip = bench.recorder().round_trip(), &age = bench.recorder().age(end);
    // what was measured stays until something new is; it is told how old it is once a watchdog time has passed
    const auto as_of = [&](const sim::Measured& measured) {
        return measured.last && measured.last_at + p.watchdog < now ? plant_seconds(measured.last_at) : Value();
    };
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
                        {"last_good_ms", p.last_good ? Value(now - *p.last_good) : Value()},
                        {"watchdog_ms", p.watchdog},
                        {"longest_cycle_ms", p.longest_cycle},
                        {"cycle_ms", p.scan},
                        {"counted_since", plant_seconds(p.counted_since)},
                        {"on_for_s", on_for.ns / proto::seconds(1).ns},
                        {"starts", at_first + p.starts - 1}};
    if (sim::ages_are_measured(scenario)) {
        state.push_back({"age_ms", Value::of(age.last)});
        state.push_back({"age_as_of", as_of(age)});
        state.push_back({"shortest_age_ms", Value::of(age.shortest)});
        state.push_back({"longest_age_ms", Value::of(age.longest)});
    }
    if (end == End::controller && sim::round_trips_are_measured(scenario)) {
        state.push_back({"trip_ms", Value::of(trip.last)});
        state.push_back({"trip_as_of", as_of(trip)});
        state.push_back({"longest_trip_ms", Value::of(trip.longest)});
        state.push_back({"longest_trip_at", trip.longest ? plant_seconds(trip.longest_at) : Value()});
    }
    return state;
}

Value signals_state(const sim::Bench& bench) {
    Value::List all;
    for (const sim::SignalShown& signal : bench.signals())
        all.push_back(Value::Object{{"name", spoken(signal.name)},
                                    {"way", signal.direction == sim::Direction::to_device ? "out" : "back"},
                                    {"sent", signal.sent},
                                    {"used", signal.used},
                                    {"substitute", signal.substitute}});
    return all;
}

/// Whether one is latched is read with the signals, from the second step on.
Value guards_state(const Exercise& exercise) {
    const sim::Bench& bench = exercise.bench();
    Value::List all;
    for (std::size_t i = 0; i < bench.scenario().safeguards.size(); ++i)
        all.push_back(Value::Object{{"name", spoken(bench.scenario().safeguards[i].name)},
                                    {"kind", kind_of(bench.scenario().safeguards[i])},
                                    {"latched", exercise.step() > 1 && bench.plant().safeguard(i).latched()},
                                    {"resets", bench.scenario().safeguards[i].latched}});
    return all;
}

Value machine_state(const sim::Bench& bench) {
    using Hold = sim::MachineModel::Hold;
    const std::optional<sim::Machine>& machine = bench.scenario().machine;
    const sim::MachineModel* const model = bench.plant().machine();
    const std::int64_t travel = machine ? machine->travel_um : 0, turns = machine ? machine->travel_angle_mdeg : 0;
    const std::int64_t at = model != nullptr ? model->position(bench.now()) : 0;
    return Value::Object{{"name", machine ? machine->name : ""},
                         {"moves", bench.machine_moves()},
                         {"speed", model != nullptr ? model->speed(bench.now()) / 1000 : 0},
                         {"full", machine ? machine->speed_um_s / 1000 : 0},
                         {"isolated", model != nullptr && model->held(Hold::isolation)},
                         {"emergency_stop", model != nullptr && model->held(Hold::emergency_stop)},
                         {"position", travel > 0 ? Value(at / 1000) : Value()},
                         {"degrees", travel > 0 && turns > 0 ? Value(turns / 1000 * at / travel) : Value()}};
}

/// One of several links: what each instrument shows of it.
Value link_state(const Exercise& exercise, std::size_t link, const std::function<bool(std::string_view)>& shows) {
    const sim::Bench& bench = exercise.bench().of_link(link);
    const sim::Drill& drill = exercise.drill();
    return Value::Object{
        {"name", bench.link_name()},
        {"station", bench.scenario().device.name},
        {"machine", bench.scenario().machine ? machine_state(bench) : Value()},
        {"request", bench.panel(End::controller).asks_for_acknowledgement},
        {"acknowledge_contact", bench.acknowledge_contact()},
        {"controller", shows("controller-panel") ? end_state(exercise, bench, End::controller) : Value()},
        {"io", shows("io-panel") ? end_state(exercise, bench, End::device) : Value()},
        {"signals", exercise.step() > 1 ? signals_state(bench) : Value(Value::List{})},
        {"time_line", shows("time-line") ? time_line_reading(exercise, bench) : Value()},
        {"telegrams", shows("telegrams") ? telegrams_reading(exercise, bench) : Value()},
        {"settings",
         shows("settings") ? settings_reading(drill.cell_sheet->links[link].alone, bench.scenario()) : Value()}};
}

/// What the act leads to that was just explained.
Value warned_outcome(const Exercise& exercise) {
    if (!exercise.warned()) return {};
    for (const sim::Consequence& one : exercise.at_plant().outcomes)
        if (one.card == exercise.warned()->id) return outcome_state(exercise, one);
    return {};
}

}  // namespace

Value exercise_state(const Exercise& exercise, bool titled) {
    const sim::Bench& bench = exercise.bench();
    const bool all = exercise.step() == 5;
    const auto shows = [&](std::string_view instrument) { return all || has(exercise.used(), instrument); };
    Value::List log, hints, deck;
    for (const LogLine& line : exercise.log())
        if (all || !line.untold)
            log.push_back(Value::Object{{"at", plant_seconds(line.at)}, {"what", line.what}, {"about", line.about}});
    for (unsigned i = 0; i < exercise.hints() && i < exercise.drill().hints.size(); ++i)
        hints.emplace_back(exercise.drill().hints[i]);
    if (exercise.step() == 4 || all)
        for (const sim::ActionCard& card : exercise.cards())
            deck.push_back(
                Value::Object{{"id", card.id},
                              {"words", card.words},
                              {"place", sim::name_of(card.place)},
                              {"takes_s", card.takes.ns / proto::seconds(1).ns},
                              {"links", card.does == sim::Does::acknowledge || card.does == sim::Does::start}});
    // of several links the instruments show each by itself
    const bool one = bench.links() == 1;
    Value::Object state{
        {"drill", Value::Object{{"number", titled ? Value(exercise.drill().number) : Value()},
                                {"title", titled ? Value(exercise.drill().title) : Value()},
                                {"plant", exercise.drill().plant},
                                {"story", exercise.drill().story},
                                {"people", exercise.drill().people}}},
        {"step", exercise.step()},
        {"plant_time", plant_seconds(bench.now())},
        {"begins", exercise.drill().clock},
        {"plant", plant_state(exercise)},
        {"machine", machine_state(bench)},
        {"request", bench.asks_for_acknowledgement()},
        {"acknowledge_contact", bench.acknowledge_contact()},
        {"controller", one && shows("controller-panel") ? end_state(exercise, bench, End::controller) : Value()},
        {"io", one && shows("io-panel") ? end_state(exercise, bench, End::device) : Value()},
        {"signals", one && exercise.step() > 1 ? signals_state(bench) : Value(Value::List{})},
        {"guards", guards_state(exercise)},
        {"time_line", one && shows("time-line") ? time_line_reading(exercise, bench) : Value()},
        {"telegrams", one && shows("telegrams") ? telegrams_reading(exercise, bench) : Value()},
        {"settings",
         one && shows("settings") ? settings_reading(exercise.drill().link_sheet, bench.scenario()) : Value()},
        {"neighbour", shows("neighbour") ? neighbour_reading(exercise) : Value()},
        {"used", Value::list_of(exercise.used())},
        {"conduct", Value::list_of(exercise.answers().conduct)},
        {"kept", Value::list_of(exercise.answers().kept)},
        {"cannot_tell", exercise.answers().cannot_tell},
        {"where", exercise.answers().where},
        {"what", exercise.answers().what},
        {"because", exercise.answers().because},
        {"work", work_state(exercise)},
        {"here", sim::name_of(exercise.at_plant().work.here())},
        {"done", done_state(exercise)},
        {"zone", zone_state(exercise)},
        {"outcome", warned_outcome(exercise)},
        {"cards", std::move(deck)},
        {"hints", std::move(hints)},
        {"log", std::move(log)},
        {"warned", exercise.warned()
                       ? Value(Value::Object{{"id", exercise.warned()->id}, {"why", exercise.warned()->why}})
                       : Value()},
        {"cause", exercise.by_hand().cause_shown ? Value(exercise.drill().cause) : Value()},
        {"score", debrief_state(exercise)}};
    if (one) return state;
    Value::List links;
    for (std::size_t i = 0; i < bench.links(); ++i) links.push_back(link_state(exercise, i, shows));
    state.push_back({"links", std::move(links)});
    state.push_back({"link", exercise.answers().link});
    return state;
}

}  // namespace tools
