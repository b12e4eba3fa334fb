#include "sim/studies/acceptance_checks.hpp"

#include <algorithm>
#include <string>
#include <vector>

#include "sim/plant/application.hpp"
#include "sim/plant/reached.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/studies/acceptance_stage.hpp"

namespace sim {
namespace {

constexpr Duration a_while = proto::milliseconds(500);
constexpr unsigned seeds_tried = 8;
const char* const does_not_run = "with these settings the link does not run";

/// Long enough for any signal to come through, or any stop to have happened.
Duration patience(const Scenario& s) {
    return std::max(s.controller.link.watchdog, s.device.link.watchdog) * 4 + proto::seconds(1);
}

std::string joined(const std::vector<std::string>& names) {
    std::string out;
    for (const std::string& name : names) out += (out.empty() ? "" : ", ") + name;
    return out.empty() ? "none" : out;
}

std::vector<std::string> names_in(const Scenario& s, std::uint64_t signals) {
    std::vector<std::string> names;
    for (std::size_t i = 0; i < s.signals.size(); ++i)
        if ((signals >> i & 1) != 0) names.push_back(s.signals[i].name);
    std::sort(names.begin(), names.end());
    return names;
}

/// By the wiring that the sheet states.
std::vector<std::string> should_fall(const Scenario& sheet, const std::string& safeguard) {
    for (std::size_t i = 0; i < sheet.safeguards.size(); ++i)
        if (sheet.safeguards[i].name == safeguard) return names_in(sheet, signals_depending_on(sheet, i));
    return {};
}

/// All signals as their senders compute them, and as their users have them, just before `when`.
struct Signals {
    std::uint64_t sent = 0, used = 0;
};
Signals signals_before(const TimeLine& line, Instant when) {
    Signals now;
    for (const End end : {End::controller, End::device}) {
        now.sent |= signals_at(line.computed(end), when);
        now.used |= signals_at(line.signals(end), when);
    }
    return now;
}

/// What fell from `before` to `now`, beside what should have fallen; empty where both are alike.
std::string not_as_wired(const Scenario& plant, const Signals& before, const Signals& now,
                         const std::vector<std::string>& should) {
    const std::vector<std::string> sent = names_in(plant, before.sent & ~now.sent),
                                   used = names_in(plant, before.used & ~now.used);
    if (sent == should && used == should) return {};
    return "should fall: " + joined(should) + "; fell as sent: " + joined(sent) + "; as used: " + joined(used);
}

}  // namespace

Returns returns_of(const Scenario& scenario, const std::string& safeguard) {
    std::optional<Returns> slowest;
    for (const SafetyFunction& function : scenario.functions) {
        if (!names(function, safeguard)) continue;
        slowest = std::min(slowest.value_or(Returns::by_itself), function.returns);
    }
    return slowest.value_or(Returns::after_start);
}

bool is_reset(const Scenario& scenario, const Safeguard& safeguard) {
    return safeguard.latched || needs_reset(scenario, safeguard.name);
}

Passes rehearse_look(const SheetOnPlant& on, const Safeguard& safeguard) {
    const Duration at = settled(on.plant), wait = patience(on.plant);
    Scenario s = staged(on.plant, at + wait);
    demand_at(s, safeguard.name, at, wait);
    for (std::uint64_t k = 0; k < seeds_tried; ++k) {
        const TimeLine line = drawn(s, on.seed + k);
        if (!runs_from_to(line, Instant{} + at, line.end())) continue;
        const std::vector<std::string> should = should_fall(on.sheet, safeguard.name);
        const std::string wrong = not_as_wired(on.plant, signals_before(line, Instant{} + at),
                                               signals_before(line, line.end() + Duration{1}), should);
        if (!wrong.empty()) return {false, wrong};
        return {true, should.empty() ? "no signal fell" : "only " + joined(should) + " fell"};
    }
    return {std::nullopt, does_not_run};
}

Passes rehearse_wire(const SheetOnPlant& on, const Safeguard& safeguard, DemandChannel channel) {
    const Duration wait = patience(on.plant);
    const Duration off = settled(on.plant), back = off + wait + safeguard.discrepancy * 2;
    const Duration both = back + wait, free = both + wait, end = free + wait;
    Scenario s = staged(on.plant, end);
    demand_at(s, safeguard.name, off, back - off, channel);
    operate(s, OperatorAct::Act::start_machine, back - a_while);
    const bool alone = channel != DemandChannel::both;
    if (alone) {
        operate(s, OperatorAct::Act::reset, back + a_while, safeguard.name);
        demand_at(s, safeguard.name, both, free - both);
    }
    operate(s, OperatorAct::Act::reset, free + a_while, safeguard.name);
    const auto at = [](Duration time) { return Instant{} + time; };
    const std::int64_t slow = s.machine ? s.machine->reduced_speed_um_s : 0;
    for (std::uint64_t k = 0; k < seeds_tried; ++k) {
        const TimeLine line = drawn(s, on.seed + k);
        if (!runs_from_to(line, at(off), line.end())) continue;
        const Signals before = signals_before(line, at(off));
        const std::vector<std::string> should = should_fall(on.sheet, safeguard.name);
        const std::string wrong = not_as_wired(on.plant, before, signals_before(line, at(back)), should);
        if (!wrong.empty()) return {false, wrong};
        if (fastest(line, at(off), at(back)) > slow) return {false, "the machine STARTED"};
        if (alone && !not_as_wired(on.plant, before, signals_before(line, at(both)), should).empty())
            return {false, "one contact alone was FORGOTTEN by a reset"};
        const Signals last = signals_before(line, line.end() + Duration{1});
        if (last.sent != before.sent || last.used != before.used) return {false, "the signals did not come back"};
        return {true, alone ? "fell by the one contact, came back only once both were seen open" : "fell, came back"};
    }
    return {std::nullopt, does_not_run};
}

namespace {

/// The moments of rehearse_free_again(), by run time.
struct FreeAgain {
    Instant demanded, free, reset, started;
};

Passes seen_free_again(const SheetOnPlant& on, const TimeLine& line, const FreeAgain& t, const AcceptanceAct& demand) {
    const Safeguard& safeguard = on.sheet.safeguards[on.sheet.place_of(demand.safeguard)];
    const std::int64_t full = on.plant.machine->speed_um_s;
    const AskedOfMachine asked = asked_of_machine(on.sheet, demand).value_or(AskedOfMachine{});
    const std::int64_t most = asked.runs_on() ? on.sheet.machine->reduced_speed_um_s : 0;
    const Returns returns = returns_of(on.sheet, safeguard.name);
    const std::string as = asked.runs_on() ? "slow" : "standing";
    if (speed_at(line, t.free) > most) return {false, "was not " + as + " when the guard became free"};
    if (is_reset(on.sheet, safeguard)) {
        const std::string wrong = not_as_wired(on.plant, signals_before(line, t.demanded),
                                               signals_before(line, t.reset), should_fall(on.sheet, safeguard.name));
        if (!wrong.empty()) return {false, "without a reset, or by one while it was demanded: " + wrong};
    }
    const bool by_itself = asked.runs_on() && returns == Returns::by_itself && !is_reset(on.sheet, safeguard);
    const bool by_reset = asked.runs_on() && returns != Returns::after_start && !by_itself;
    const bool fast_once_free = fastest(line, t.free, t.reset) > most;
    const bool fast_once_reset = fastest(line, t.reset, t.started) > most;
    if (by_itself) return {fast_once_free, fast_once_free ? "sped up by itself" : "did not speed up by itself"};
    if (fast_once_free) return {false, "SPED UP as soon as the guard was free"};
    if (by_reset) return {fast_once_reset, fast_once_reset ? "sped up after the reset" : "no speed after the reset"};
    if (fast_once_reset) return {false, "SPED UP by the reset"};
    if (speed_at(line, line.end()) != full) return {false, "could not be started again"};
    return {true, "stayed " + as + " until it was started"};
}

}  // namespace

Passes rehearse_free_again(const SheetOnPlant& on, const AcceptanceAct& demand) {
    const std::size_t known = on.plant.place_of(demand.safeguard);
    if (known == on.plant.safeguards.size() || on.sheet.place_of(demand.safeguard) == on.sheet.safeguards.size() ||
        !on.plant.machine)
        return {};
    const Duration wait = patience(on.plant);
    const Duration at = settled(on.plant);
    const Duration lasting = limits_of_act(on.sheet, demand).machine_at_most.value_or(proto::seconds(5)) * 2 + wait;
    const Duration free = at + lasting, pressed = free + wait, reset = pressed + reset_held, started = reset + wait;
    Scenario s = staged(on.plant, started + wait);
    operate(s, OperatorAct::Act::start_machine, at - a_while);
    demand_at(s, demand.safeguard, at, lasting);
    if (is_reset(on.plant, on.plant.safeguards[known])) {
        operate(s, OperatorAct::Act::reset, free - a_while, demand.safeguard);  // still demanded: resets nothing
        operate(s, OperatorAct::Act::reset, pressed, demand.safeguard);
        s.operator_acts.back().held_for = reset_held;
    }
    operate(s, OperatorAct::Act::start_machine, started);
    const FreeAgain t{Instant{} + at, Instant{} + free, Instant{} + reset, Instant{} + started};
    for (std::uint64_t k = 0; k < seeds_tried; ++k) {
        const TimeLine line = drawn(s, on.seed + k);
        if (!runs_from_to(line, t.demanded, line.end()) || speed_at(line, t.demanded) == 0) continue;
        return seen_free_again(on, line, t, demand);
    }
    return {std::nullopt, "with these settings the link does not run, or the machine not start"};
}

namespace {

/// With what the ends of that plant are set to, whatever the seed.
bool runs_at_all(const Scenario& plant, std::uint64_t seed) {
    const Scenario s = staged(plant, settled(plant));
    for (std::uint64_t k = 0; k < seeds_tried; ++k)
        if (both_run_at_end(drawn(s, seed + k))) return true;
    return false;
}

}  // namespace

Passes rehearse_mistyped(const SheetOnPlant& on, const Mistyped& mistyped) {
    if (!runs_at_all(on.plant, on.seed)) return {std::nullopt, does_not_run};
    const Scenario changed = mistyped_at_device(on.plant, mistyped.what);
    if (mistyped.seen_by_link()) {
        Scenario s = staged(changed, settled(changed));
        start_when_running(s);
        operate(s, OperatorAct::Act::start_machine, s.duration - a_while);
        for (std::uint64_t k = 0; k < seeds_tried; ++k) {
            const TimeLine line = drawn(s, on.seed + k);
            for (const End end : {End::controller, End::device})
                for (const TimeLine::StateChange& change : line.states(end))
                    if (change.state == proto::State::running) return {false, "the link STARTED"};
            if (fastest(line, Instant{}, line.end()) > 0) return {false, "the machine STARTED"};
        }
        return {true, "the link did not start"};
    }
    if (!runs_at_all(changed, on.seed)) return {false, "the link did not run, and should show nothing"};
    for (const Safeguard& guard : on.sheet.safeguards)
        if (rehearse_look({on.sheet, changed, on.seed}, guard).passes == false)
            return {true, "the link ran, and the demand of " + guard.name + " found it"};
    return {false, "the link ran, and NO demand found it"};
}

AcknowledgementSeen rehearse_acknowledgement(const Scenario& plant, std::uint64_t seed) {
    const Duration at = settled(plant), cut_for = proto::seconds(1);
    const Duration rest = std::max(plant.controller.link.watchdog, plant.device.link.watchdog) * 20 + proto::seconds(5);
    Scenario s = staged(plant, at + cut_for + rest);
    cut_cable(s, at, cut_for);
    // started once, by hand, so that a motion after the acknowledgement is one that nobody asked for
    operate(s, OperatorAct::Act::start_machine, at - proto::milliseconds(100));
    AcknowledgementSeen seen;
    const TimeLine without = drawn(s, seed);
    seen.ran = runs_at(without, End::controller, Instant{} + at) && runs_at(without, End::device, Instant{} + at);
    seen.stays_without = !both_run_at_end(without);

    Scenario held = s;
    operate(held, OperatorAct::Act::hold_acknowledge, at + proto::milliseconds(100));
    seen.stays_when_held = !both_run_at_end(drawn(held, seed));

    Scenario asked = s;
    asked.operator_acts.push_back({.event = OperatorAct::Event::acknowledgement_requested,
                                   .act = OperatorAct::Act::acknowledge,
                                   .after = proto::milliseconds(300),
                                   .where = {}});
    const TimeLine line = drawn(asked, seed);
    seen.resumes_when_asked = both_run_at_end(line);
    const auto failing = reached_by_failure(plant);
    const bool slows = failing && failing->stop == StopCategory::reduced_speed;
    seen.machine_stays = speed_at(line, line.end()) <= (slows ? plant.machine->reduced_speed_um_s : 0);
    return seen;
}

}  // namespace sim
