#include "tools/run/acceptance_document.hpp"

#include <algorithm>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/studies/acceptance_study.hpp"
#include "sim/studies/cross_check.hpp"
#include "sim/timing/from_reduced.hpp"
#include "sim/timing/minimum_distance.hpp"
#include "tools/run/acceptance_row.hpp"
#include "tools/run/acceptance_words.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using sim::AcceptanceAct;
using sim::End;
using Kind = AcceptanceAct::Kind;

constexpr double um_per_mm = 1000.0;

using Row = AcceptanceRow;

class Rows {
  public:
    Rows(const sim::Scenario& scenario, const sim::AcceptanceStudy& study)
        : s_(scenario), study_(study), names_(full_names(scenario)) {}

    Value::List made() {
        look_only();
        wires();
        for (const sim::RehearsedAct& demanded : study_.demands)
            if (demanded.act.kind == Kind::demand) demand(demanded);
        for (const sim::RehearsedCheck& check : study_.free_again) free_again(check);
        for (const sim::RehearsedAct& demanded : study_.demands)
            if (demanded.act.kind == Kind::demand_in_cut) demand(demanded);
        broken_link();
        for (const sim::RehearsedMistyped& mistyped : study_.mistyped) changed_setting(mistyped);
        return std::move(list_);
    }

  private:
    void add(const Row& row) { list_.emplace_back(describe(row, list_.size() + 1)); }

    /// Limits and rehearsal of an act, and what both ends showed in it.
    static void tell_act(Row& row, const sim::RehearsedAct& rehearsed) {
        const auto& [act, asked, limits, seen, passes] = rehearsed;
        row.allowed = limits.machine_at_most;
        row.by_settings = limits.by_settings;
        row.at_least = limits.link_at_least;
        row.reckoned = limits.reckoned;
        row.rehearsed = seen.longest;
        row.stands_allowed = limits.stands_at_most;
        row.stands_rehearsed = seen.longest_until_stands;
        if (asked && asked->slow_um_s != 0) row.slow_um_s = asked->slow_um_s;
        tell(row, passes);
        if (act.kind == Kind::demand) return;  // the link runs on
        for (const End end : {End::controller, End::device}) {
            std::string& expected = end == End::controller ? row.controller : row.device;
            std::string words = words_for(seen.causes[static_cast<std::size_t>(end) & 1]);
            if (words.empty()) words = "No good telegram in time";
            const bool dark = act.kind == Kind::power_off && act.end == end;
            if (!dark) expected += (expected.empty() ? "" : ", ") + words;
        }
    }

    void look_only() {
        Row signatures{.stage = "Look only",
                       .act =
                           "Read at each end what its maker's tool shows as checksum or signature of the safety "
                           "settings. They must be those noted in the link sheet",
                       .controller = "noted",
                       .device = "noted",
                       .machine = "stands still",
                       .noted = true};
        signatures.rehearsal = study_.signature
                                   ? "identity of the rehearsal " + sim::written_hex(*study_.signature, 8) +
                                         ": of linkdrill's own telegrams, no maker's tool shows it"
                                   : "the ends as written differ";
        add(signatures);
        for (const sim::RehearsedCheck& look : study_.looks) {
            const sim::Safeguard& guard = s_.safeguards[look.safeguard];
            Row row{.stage = "Look only",
                    .act = "Machine standing. Demand " + guard.name + " with a test rod or its own actuator, alone",
                    .controller = shown(look.safeguard, End::controller),
                    .device = shown(look.safeguard, End::device),
                    .machine = "stands still",
                    .undo = sim::is_reset(s_, guard) ? "safeguard free again and reset" : "safeguard free again",
                    .function = look.function,
                    .safeguard = guard.name};
            tell(row, look.passes);
            add(row);
        }
    }

    [[nodiscard]] std::string shown(std::size_t safeguard, End end, const std::string& contact = {}) const {
        const std::string words = falls_at(s_, {safeguard}, end, contact);
        return words.empty() ? std::string("nothing falls here") : words + ", nothing else";
    }

    void wires() {
        for (const sim::RehearsedCheck& wire : study_.wires) {
            const WireWords words = wire_words(s_, wire);
            Row row{.stage = "Wires",
                    .act = words.act,
                    .controller = shown(wire.safeguard, End::controller, words.contact),
                    .device = shown(wire.safeguard, End::device, words.contact),
                    .machine = "stands still",
                    .undo = words.undo,
                    .function = wire.function,
                    .safeguard = s_.safeguards[wire.safeguard].name};
            tell(row, wire.passes);
            add(row);
        }
    }

    [[nodiscard]] static std::string stage_of(const AcceptanceAct& act) {
        if (act.kind != Kind::demand) return "Break the link";
        return act.speed == AcceptanceAct::Speed::reduced ? "At reduced speed" : "At full speed";
    }

    void demand(const sim::RehearsedAct& rehearsed) {
        const AcceptanceAct& act = rehearsed.act;
        const auto falls = [&](End end) {
            std::vector<std::size_t> guards{s_.place_of(act.safeguard)};
            if (!act.together_with.empty()) guards.push_back(s_.place_of(act.together_with));
            const std::string falling = falls_at(s_, guards, end);
            std::string words = act.kind == Kind::demand ? "Running" : "";
            if (!falling.empty()) words += (words.empty() ? "" : ", ") + falling;
            return words;
        };
        const bool often =
            act.kind == Kind::demand && act.speed == AcceptanceAct::Speed::full && act.together_with.empty();
        Row row{.stage = stage_of(act),
                .act = deed_of(rehearsed),
                .controller = falls(End::controller),
                .device = falls(End::device),
                .machine = machine_must(s_, rehearsed.asked),
                .clock = "starts: " + act.safeguard + " is demanded; " + clock_stops(s_, rehearsed.asked),
                .undo = undone_by(s_, act),
                .times = often ? measurements : 1,
                .function = act.function,
                .safeguard = act.safeguard};
        tell_act(row, rehearsed);
        add(row);
    }

    void free_again(const sim::RehearsedCheck& check) {
        const FreeAgainWords words = free_again_words(s_, check);
        const auto shows = [&](End end) {
            const std::string rising = rises_at(s_, check.safeguard, end);
            return rising.empty() ? std::string("Running") : "Running, " + rising + " at the end";
        };
        Row row{.stage = "Free again",
                .act = words.act,
                .controller = shows(End::controller),
                .device = shows(End::device),
                .machine = words.machine,
                .function = check.function,
                .safeguard = s_.safeguards[check.safeguard].name};
        tell(row, check.passes);
        add(row);
    }

    [[nodiscard]] static std::string how(const AcceptanceAct& act) {
        return std::string("Nobody in the zone, barrier closed, ") +
               (act.speed == AcceptanceAct::Speed::reduced ? "reduced speed" : "machine running") + ". ";
    }

    void cut(const std::string& place) {
        Row row{
            .stage = "Break the link",
            .act = how(study_.cut.act) + "From the cabinet outside the barrier pull the network plug of the " + place,
            .controller = {},
            .device = {},
            .machine = machine_must(s_, study_.cut.asked),
            .clock = "starts: plug leaves; " + clock_stops(s_, study_.cut.asked),
            .undo = "plug back in"};
        tell_act(row, study_.cut);
        add(row);
    }

    /// Without its power no drive ramps down.
    void power(const sim::RehearsedAct& rehearsed) {
        const End end = rehearsed.act.end;
        const bool drives = s_.machine && s_.machine->at == end;
        const std::string stops = drives ? "stops without power" : machine_must(s_, rehearsed.asked);
        Row row{.stage = "Break the link",
                .act = how(rehearsed.act) + "Switch the " + names_.of(end) +
                       " off at its own breaker, outside the barrier; on again after a second or more",
                .controller = end == End::controller ? "dark, then Starting" : "",
                .device = end == End::device ? "dark, then Starting" : "",
                .machine = stops + "; does not start again by itself",
                .clock = "starts: power off; " + clock_stops(s_, rehearsed.asked),
                .undo = "power on"};
        tell_act(row, rehearsed);
        add(row);
    }

    void broken_link() {
        cut(names_.device);
        cut(names_.controller);
        for (const sim::RehearsedAct& rehearsed : study_.power_off) power(rehearsed);
        const sim::AcknowledgementSeen& seen = study_.acknowledgement;
        const bool slow = study_.cut.asked && study_.cut.asked->runs_on();
        const std::string stays = slow ? "stays slow" : "stands still";
        const auto told = [&](bool as_asked, const char* so, const char* otherwise) {
            if (!seen.ran) return sim::Passes{std::nullopt, "with these settings the link does not run"};
            return sim::Passes{as_asked, as_asked ? so : otherwise};
        };
        Row held{.stage = "Break the link",
                 .act =
                     "Nobody in the zone, barrier closed. Pull the plug, press and hold the acknowledgement button, "
                     "put the plug back in, hold on for 10 s",
                 .controller = "Waits for you",
                 .device = "Stopped, or waits",
                 .machine = stays + "; the link does not resume",
                 .undo = "button let go"};
        tell(held, told(seen.stays_when_held, "did not resume", "RESUMED with the button held"));
        add(held);
        Row pressed{
            .stage = "Break the link",
            .act = "Nobody in the zone, barrier closed. Press the acknowledgement button once, after the request",
            .controller = "Running",
            .device = "Running",
            .machine = stays + " until it is started"};
        tell(pressed, told(seen.resumes_when_asked && seen.machine_stays,
                           slow ? "resumed, machine stayed slow" : "resumed, machine stood still",
                           seen.resumes_when_asked ? "the machine SPED UP by it" : "the link did NOT resume"));
        add(pressed);
    }

    /// By what the comparison of the ends says of it.
    void changed_setting(const sim::RehearsedMistyped& rehearsed) {
        const sim::Mistyped& mistyped = rehearsed.typed;
        const MistypedWords words = mistyped_words(s_, names_.device, mistyped);
        Row row{.stage = "Change settings",
                .act = "Machine locked out. " + words.act,
                .controller = "Running",
                .device = "Running",
                .machine = "cannot be started",
                .undo = words.undo,
                .need = Row::Need::optional_by_engineer};
        if (mistyped.difference) {
            row.controller = mistyped.difference->seen_at_controller;
            row.device = mistyped.difference->seen_at_device;
        }
        if (!mistyped.seen_by_link()) {
            row.controller = row.device = "Running: nothing is to be seen at the link";
            row.machine = "locked out";
            row.reckoned =
                "passes when demanding each safeguard once, as in the rows above, finds the exchanged signals";
        }
        tell(row, rehearsed.passes);
        add(row);
    }

    const sim::Scenario& s_;
    const sim::AcceptanceStudy& study_;
    EndNames names_;
    Value::List list_;
};

Value there_of(const std::optional<sim::GuardDistance>& distance) {
    if (!distance || !distance->there_um) return {};
    return static_cast<double>(*distance->there_um) / um_per_mm;
}

/// From which speed its distance counts, and why, where it is to be the reduced one; the guard for which it does not
/// first.
std::string distance_from(const sim::Scenario& s, const sim::SafetyFunction& function) {
    std::string words;
    for (const sim::MustReact& must : function.must)
        for (const std::string& safeguard : function.safeguards) {
            const sim::FromReduced from = sim::from_reduced(s, function, must, safeguard);
            if (from.asked && !from.counts()) return sim::in_words(from);
            if (from.asked) words = sim::in_words(from);
        }
    return words;
}

Value::List functions_of(const sim::Scenario& s, const sim::AcceptanceStudy& study) {
    Value::List list;
    for (const sim::SafetyFunction& function : s.functions) {
        Value::List musts;
        for (const sim::MustReact& must : function.must)
            musts.push_back(Value::Object{
                {"machine", must.machine}, {"must", sim::name_of(must.must)}, {"within_ms", Value::of(must.within)}});
        const std::optional<sim::Distance>& distance = study.function_distances[list.size()];
        Value::Object one{{"no", static_cast<std::uint64_t>(list.size() + 1)},
                          {"name", function.name},
                          {"safeguards", Value::list_of(function.safeguards)},
                          {"must", std::move(musts)},
                          {"level", function.level ? Value(written(*function.level)) : Value()},
                          {"returns", sim::name_of(function.returns)},
                          {"needed_mm", distance ? Value(sim::whole_mm_up(distance->needed)) : Value()},
                          {"there_mm", there_of(function.distance)}};
        if (const std::string from = distance_from(s, function); !from.empty()) one.push_back({"distance_from", from});
        list.emplace_back(std::move(one));
    }
    return list;
}

}  // namespace

Value describe_acceptance(const sim::Scenario& scenario, const sim::AcceptanceStudy& study) {
    return Value::Object{
        {"scenario", scenario.file},
        {"seed", study.seed},
        {"functions", functions_of(scenario, study)},
        {"rows", Rows(scenario, study).made()},
        {"stopping_ms", Value::of(study.response.stopping)},
        {"needed_mm", study.distance ? Value(sim::whole_mm_up(study.distance->needed)) : Value()},
        {"there_mm", there_of(scenario.distance)},
    };
}

}  // namespace tools
