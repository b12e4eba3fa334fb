#include "tools/run/acceptance_document.hpp"

#include <algorithm>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <variant>

#include "sim/plant/application.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/studies/acceptance.hpp"
#include "sim/studies/acceptance_study.hpp"
#include "sim/studies/cross_check.hpp"
#include "sim/timing/minimum_distance.hpp"
#include "sim/timing/response.hpp"
#include "tools/run/plant_document.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using sim::AcceptanceAct;
using sim::End;
using Kind = AcceptanceAct::Kind;

constexpr unsigned measurements = 10;  ///< ISO 13855, from memory: ten, at the worst position and load

std::string words_for(proto::Cause cause) {
    switch (cause) {
        case proto::Cause::time_expectation: return "No good telegram in time";
        case proto::Cause::told_by_peer: return "The other end says that it has stopped";
        case proto::Cause::peer_restarted: return "The other end started anew";
        case proto::Cause::rejected_telegram: return "A telegram was rejected";
        case proto::Cause::power_up:
        case proto::Cause::first_value:
        case proto::Cause::error_free_again:
        case proto::Cause::errors_again:
        case proto::Cause::acknowledged:
        case proto::Cause::start_failed: return std::string(name_of(cause));
    }
    return "?";
}

std::string words_for(const std::set<proto::Cause>& causes) {
    std::string words;
    for (const proto::Cause cause : causes) words += (words.empty() ? "" : ", or: ") + words_for(cause);
    return words;
}

std::string words_for(const sim::ActSeen& seen) {
    if (seen.ran == 0) return "not rehearsed: with these settings the link does not run, or the machine not start";
    const std::string of = " of " + std::to_string(seen.ran);
    if (seen.stopped < seen.ran) return "DID NOT STOP in " + std::to_string(seen.ran - seen.stopped) + of;
    return "stopped in " + std::to_string(seen.stopped) + of;
}

/// One row, filled in by its name as it is built.
struct Row {
    std::string stage, act, controller, device, machine, clock = {}, reckoned = {}, rehearsal = {}, undo = {};
    std::optional<proto::Duration> allowed = {}, at_least = {}, rehearsed = {};
    unsigned times = 1;
    enum class Need : unsigned char { always, optional_by_engineer } need = Need::always;
};

/// What a demand's row asks for.
struct DemandAsked {
    std::string stage, act;
    unsigned times = 1;
};

DemandAsked asked_of(const AcceptanceAct& act) {
    const std::string clear = "Nobody in the zone, barrier closed, measured from outside. ";
    if (act.kind == Kind::demand_in_cut)
        return {"Break the link", clear +
                                      "At full speed. From the cabinet outside the barrier pull the network plug, and "
                                      "demand " +
                                      act.safeguard + " at the same moment"};
    if (act.speed == AcceptanceAct::Speed::reduced)
        return {"At reduced speed", clear + "At reduced speed demand " + act.safeguard};
    return {"At full speed", clear + "At full speed, worst load and position, demand " + act.safeguard + ", ten times",
            measurements};
}

/// How a setting is mistyped, and how that is undone.
struct HowMistyped {
    const sim::Scenario& s;
    const std::string& device;
    struct Words {
        std::string act, undo;
    };

    Words operator()(const sim::MistypedAddress& typed) const {
        return {"Type address " + sim::written_hex(typed.address, 4) + " at the " + device + " and start the link",
                "right address typed: " + sim::written_hex(s.device.link.own_address, 4)};
    }
    Words operator()(const sim::MistypedWatchdog& typed) const {
        return {"Type a watchdog of " + sim::written(typed.watchdog) + " at the " + device + " and start the link",
                "right watchdog typed: " + sim::written(s.device.link.watchdog)};
    }
    Words operator()(const sim::ExchangedBits& typed) const {
        return {"Exchange the bits of " + typed.first + " and " + typed.second + " at the " + device +
                    " and start the link",
                "bits typed as in the link sheet"};
    }
    Words operator()(const sim::MovedBit& typed) const {
        return {"Move the bit of " + typed.signal + " at the " + device + " to " + std::to_string(typed.to.byte) + "." +
                    std::to_string(typed.to.bit) + " and start the link",
                "bits typed as in the link sheet"};
    }
};

class Rows {
  public:
    Rows(const sim::Scenario& scenario, const sim::AcceptanceStudy& study)
        : s_(scenario), study_(study), names_(full_names(scenario)) {}

    Value::List made() {
        look_only();
        for (const sim::RehearsedAct& demanded : study_.demands) demand(demanded);
        broken_link();
        for (const sim::Mistyped& mistyped : study_.mistyped) changed_setting(mistyped);
        return std::move(list_);
    }

  private:
    [[nodiscard]] std::string stops() const { return s_.machine ? "stops by itself" : "outputs off"; }
    [[nodiscard]] std::string until() const {
        return s_.machine ? "stops: " + s_.machine->name + " stands" : "stops: outputs are off";
    }

    void add(const Row& row) {
        list_.push_back(Value::Object{{"no", static_cast<std::uint64_t>(list_.size() + 1)},
                                      {"stage", row.stage},
                                      {"do", row.act},
                                      {"controller_shows", row.controller},
                                      {"device_shows", row.device},
                                      {"machine", row.machine},
                                      {"clock", Value::text_or_null(row.clock)},
                                      {"allowed_ms", Value::of(row.allowed)},
                                      {"not_before_ms", Value::of(row.at_least)},
                                      {"reckoned", Value::text_or_null(row.reckoned)},
                                      {"rehearsed_ms", Value::of(row.rehearsed)},
                                      {"rehearsal", Value::text_or_null(row.rehearsal)},
                                      {"undo", Value::text_or_null(row.undo)},
                                      {"times", row.times},
                                      {"optional", row.need == Row::Need::optional_by_engineer}});
    }

    /// Limits and rehearsal of an act, and what both ends showed in it.
    static void tell(Row& row, const sim::RehearsedAct& rehearsed) {
        const auto& [act, limits, seen] = rehearsed;
        row.allowed = limits.machine_at_most;
        row.at_least = limits.link_at_least;
        row.reckoned = limits.reckoned;
        row.rehearsed = seen.longest;
        if (seen.tried == 0) {
            row.rehearsal = "not rehearsed: the scenario states no reduced speed";
            return;
        }
        row.rehearsal = words_for(seen);
        if (seen.longest && limits.machine_at_most && *seen.longest > *limits.machine_at_most)
            row.rehearsal += "; OVER what is allowed: the scenario's machine stops more slowly than it was measured";
        // a link that runs on shows what the row expects of it already
        for (const End end : {End::controller, End::device}) {
            std::string& expected = end == End::controller ? row.controller : row.device;
            const std::string words = words_for(seen.causes[static_cast<std::size_t>(end) & 1]);
            if (expected.empty() || (act.kind != Kind::power_off && !words.empty()))
                expected = words.empty() ? "Running" : words;
        }
    }

    void look_only() {
        const std::string signature =
            study_.signature ? sim::written_hex(*study_.signature, 8) : "none: the ends differ";
        add({.stage = "Look only",
             .act = "Read the parameter signature at both ends. It must be that of the link sheet",
             .controller = signature,
             .device = signature,
             .machine = "stands still"});
        for (std::size_t i = 0; i < s_.safeguards.size(); ++i) {
            const auto shown = [&](End end) {
                const std::string words = falls(i, end);
                return words.empty() ? std::string("nothing falls here") : words + ", no other signal";
            };
            add({.stage = "Look only",
                 .act = "Machine standing. Demand " + s_.safeguards[i].name +
                        " with a test rod or its own actuator, alone",
                 .controller = shown(End::controller),
                 .device = shown(End::device),
                 .machine = "stands still",
                 .undo = s_.safeguards[i].latched ? "safeguard free again and reset" : "safeguard free again"});
        }
    }

    /// The signals that fall at an end when that safeguard is demanded: "curtain_free 0".
    [[nodiscard]] std::string falls(std::size_t safeguard, End end) const {
        const std::uint64_t signals = sim::signals_depending_on(s_, safeguard);
        std::string words;
        for (std::size_t k = 0; k < s_.signals.size(); ++k)
            if ((signals >> k & 1) != 0 && sim::receiver(s_.signals[k].direction) == end)
                words += (words.empty() ? "" : ", ") + s_.signals[k].name + " 0";
        return words;
    }

    void demand(const sim::RehearsedAct& rehearsed) {
        const auto guard = std::find_if(s_.safeguards.begin(), s_.safeguards.end(), [&](const sim::Safeguard& each) {
            return each.name == rehearsed.act.safeguard;
        });
        const auto shown = [&](End end) {
            const std::string words = falls(static_cast<std::size_t>(guard - s_.safeguards.begin()), end);
            return words.empty() ? std::string("Running") : "Running, " + words;
        };
        DemandAsked asked = asked_of(rehearsed.act);
        Row row{.stage = std::move(asked.stage),
                .act = std::move(asked.act),
                .controller = shown(End::controller),
                .device = shown(End::device),
                .machine = stops(),
                .clock = "starts: " + guard->name + " is demanded; " + until(),
                .undo = guard->latched ? "safeguard free again and reset" : "safeguard free again",
                .times = asked.times};
        tell(row, rehearsed);
        add(row);
    }

    void cut(const std::string& place) {
        Row row{.stage = "Break the link",
                .act =
                    "Nobody in the zone, barrier closed, reduced speed. From the cabinet outside the barrier pull the "
                    "network plug of the " +
                    place,
                .controller = {},
                .device = {},
                .machine = stops(),
                .clock = "starts: plug leaves; " + until(),
                .undo = "plug back in"};
        tell(row, study_.cut);
        add(row);
    }

    void power(const sim::RehearsedAct& rehearsed) {
        const End end = rehearsed.act.end;
        const std::string& name = names_.of(end);
        Row row{.stage = "Break the link",
                .act = "Nobody in the zone, barrier closed, reduced speed. Switch the " + name +
                       " off at its own breaker, outside the barrier; on again after a second or more",
                .controller = end == End::controller ? "dark, then Starting" : "",
                .device = end == End::device ? "dark, then Starting" : "",
                .machine = stops() + "; does not start again by itself",
                .clock = "starts: power off; " + until(),
                .undo = "power on"};
        tell(row, rehearsed);
        add(row);
    }

    void broken_link() {
        cut(names_.device);
        cut(names_.controller);
        for (const sim::RehearsedAct& rehearsed : study_.power_off) power(rehearsed);
        const sim::AcknowledgementSeen& seen = study_.acknowledgement;
        const auto in_words = [](bool kept, const char* kept_words, const char* otherwise) {
            return std::string("rehearsal: ") + (kept ? kept_words : otherwise);
        };
        add({.stage = "Break the link",
             .act = "Nobody in the zone, barrier closed. Pull the plug, press and hold the acknowledgement button, put "
                    "the plug back in, hold on for 10 s",
             .controller = "Waits for you",
             .device = "Stopped, or waits",
             .machine = "stands still; the link does not resume",
             .rehearsal = in_words(seen.stays_when_held, "did not resume", "RESUMED with the button held"),
             .undo = "button let go"});
        add({.stage = "Break the link",
             .act = "Nobody in the zone, barrier closed. Press the acknowledgement button once, after the request",
             .controller = "Running",
             .device = "Running",
             .machine = "stands still until it is started",
             .rehearsal = in_words(seen.resumes_when_asked && seen.machine_stays, "resumed, machine stood still",
                                   "did NOT behave so")});
    }

    /// By what the comparison of the ends says of it.
    void changed_setting(const sim::Mistyped& mistyped) {
        const HowMistyped::Words how = std::visit(HowMistyped{s_, names_.device}, mistyped.what);
        Row row{.stage = "Change settings",
                .act = "Machine locked out. " + how.act,
                .controller = "Running",
                .device = "Running",
                .machine = "cannot be started",
                .undo = how.undo,
                .need = Row::Need::optional_by_engineer};
        if (mistyped.difference) {
            row.controller = mistyped.difference->seen_at_controller;
            row.device = mistyped.difference->seen_at_device;
        }
        if (row.controller == "Running" && row.device == "Running") {
            row.controller = row.device = "Running: nothing is to be seen at the link";
            row.machine = "locked out";
            row.reckoned =
                "passes when demanding each safeguard once, as in the rows above, finds the exchanged signals";
        }
        add(row);
    }

    const sim::Scenario& s_;
    const sim::AcceptanceStudy& study_;
    EndNames names_;
    Value::List list_;
};

}  // namespace

Value describe_acceptance(const sim::Scenario& scenario, const sim::AcceptanceStudy& study) {
    constexpr double um_per_mm = 1000.0;
    const bool there = scenario.distance && scenario.distance->there_um;
    return Value::Object{
        {"scenario", scenario.file},
        {"seed", study.seed},
        {"rows", Rows(scenario, study).made()},
        {"stopping_ms", Value::of(study.response.stopping)},
        {"needed_mm", study.distance ? Value(sim::whole_mm_up(study.distance->needed)) : Value()},
        {"there_mm", there ? Value(static_cast<double>(*scenario.distance->there_um) / um_per_mm) : Value()},
    };
}

}  // namespace tools
