#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "sim/plant/application.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/studies/acceptance.hpp"
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

class Rows {
  public:
    Rows(const sim::Scenario& scenario, std::uint64_t seed) : s_(scenario), seed_(seed), names_(full_names(scenario)) {}

    Value::List made() {
        look_only();
        demands();
        broken_link();
        changed_settings();
        return std::move(list_);
    }

  private:
    [[nodiscard]] std::string machine() const { return s_.machine ? s_.machine->name : "outputs"; }
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
    void rehearse(Row& row, const AcceptanceAct& act) {
        const sim::ActLimits limits = sim::limits_of_act(s_, act);
        row.allowed = limits.machine_at_most;
        row.at_least = limits.link_at_least;
        row.reckoned = limits.reckoned;
        const sim::ActSeen seen = sim::rehearse_act(s_, act, seed_);
        row.rehearsed = seen.longest;
        if (seen.tried == 0) {
            row.rehearsal = "not rehearsed: the scenario states no reduced speed";
            return;
        }
        row.rehearsal = words_for(seen);
        if (seen.longest && limits.machine_at_most && *seen.longest > *limits.machine_at_most)
            row.rehearsal += "; OVER what is allowed: the scenario's machine stops more slowly than it was measured";
        const auto shown = [&](End end) {
            std::string words;
            for (const proto::Cause cause : seen.causes[static_cast<std::size_t>(end) & 1])
                words += (words.empty() ? "" : ", or: ") + words_for(cause);
            return words;
        };
        // a link that runs on shows what the row expects of it already
        for (const End end : {End::controller, End::device}) {
            std::string& expected = end == End::controller ? row.controller : row.device;
            const std::string words = shown(end);
            if (expected.empty() || (act.kind != Kind::power_off && !words.empty()))
                expected = words.empty() ? "Running" : words;
        }
    }

    void look_only() {
        const sim::CrossCheck check = sim::cross_check(s_);
        const std::string signature = check.signature ? sim::written_hex(*check.signature, 8) : "none: the ends differ";
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

    void demand(const sim::Safeguard& guard, AcceptanceAct act, const std::string& stage, const std::string& how,
                unsigned times) {
        act.safeguard = guard.name;
        if (sim::hops_of(s_, guard.name).empty()) return;  // reaches no output: its signal was seen above
        const auto shown = [&](End end) {
            const std::string words = falls(static_cast<std::size_t>(&guard - s_.safeguards.data()), end);
            return words.empty() ? std::string("Running") : "Running, " + words;
        };
        Row row{.stage = stage,
                .act = how,
                .controller = shown(End::controller),
                .device = shown(End::device),
                .machine = stops(),
                .clock = "starts: " + guard.name + " is demanded; " + until(),
                .undo = guard.latched ? "safeguard free again and reset" : "safeguard free again",
                .times = times};
        rehearse(row, act);
        add(row);
    }

    void demands() {
        const std::string clear = "Nobody in the zone, barrier closed, measured from outside. ";
        for (const sim::Safeguard& guard : s_.safeguards)
            demand(guard, {.kind = Kind::demand, .speed = AcceptanceAct::Speed::reduced}, "At reduced speed",
                   clear + "At reduced speed demand " + guard.name, 1);
        for (const sim::Safeguard& guard : s_.safeguards)
            demand(guard, {.kind = Kind::demand}, "At full speed",
                   clear + "At full speed, worst load and position, demand " + guard.name + ", ten times",
                   measurements);
        for (const sim::Safeguard& guard : s_.safeguards) {
            demand(guard, {.kind = Kind::demand_in_cut}, "Break the link",
                   clear + "At full speed. From the cabinet outside the barrier pull the network plug, and demand " +
                       guard.name + " at the same moment",
                   1);
        }
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
        rehearse(row, {.kind = Kind::cut});
        add(row);
    }

    void power(End end) {
        const std::string& name = names_.of(end);
        Row row{.stage = "Break the link",
                .act = "Nobody in the zone, barrier closed, reduced speed. Switch the " + name +
                       " off at its own breaker, outside the barrier; on again after a second or more",
                .controller = end == End::controller ? "dark, then Starting" : "",
                .device = end == End::device ? "dark, then Starting" : "",
                .machine = stops() + "; does not start again by itself",
                .clock = "starts: power off; " + until(),
                .undo = "power on"};
        rehearse(row, {.kind = Kind::power_off, .end = end});
        add(row);
    }

    void broken_link() {
        cut(names_.device);
        cut(names_.controller);
        power(End::controller);
        power(End::device);
        const sim::AcknowledgementSeen seen = sim::rehearse_acknowledgement(s_, seed_);
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

    /// A changed copy, by what the comparison of the ends says of it.
    void changed(const std::string& how, const sim::Scenario& changed, const std::string& undo) {
        const sim::CrossCheck check = sim::cross_check(changed);
        Row row{.stage = "Change settings",
                .act = "Machine locked out. " + how,
                .controller = "Running",
                .device = "Running",
                .machine = "cannot be started",
                .undo = undo,
                .need = Row::Need::optional_by_engineer};
        if (!check.differences.empty()) {
            row.controller = check.differences.front().seen_at_controller;
            row.device = check.differences.front().seen_at_device;
        }
        if (row.controller == "Running" && row.device == "Running") {
            row.controller = row.device = "Running: nothing is to be seen at the link";
            row.machine = "locked out";
            row.reckoned =
                "passes when demanding each safeguard once, as in the rows above, finds the exchanged signals";
        }
        add(row);
    }

    void changed_settings() {
        sim::Scenario address = s_;
        const std::uint32_t wrong = s_.device.link.own_address ^ 1U;
        const bool taken = wrong == s_.device.link.peer_address || wrong == 0;
        address.device.link.own_address = taken ? s_.device.link.own_address ^ 2U : wrong;
        changed("Type address " + sim::written_hex(address.device.link.own_address, 4) + " at the " + names_.device +
                    " and start the link",
                address, "right address typed: " + sim::written_hex(s_.device.link.own_address, 4));

        sim::Scenario watchdog = s_;
        watchdog.device.link.watchdog = s_.device.link.watchdog + s_.device.link.cycle;
        changed("Type a watchdog of " + sim::written(watchdog.device.link.watchdog) + " at the " + names_.device +
                    " and start the link",
                watchdog, "right watchdog typed: " + sim::written(s_.device.link.watchdog));
        swapped_bits();
    }

    /// The place of a signal's bit at the device; nullptr where it has none.
    static sim::BitPlace* place_at_device(sim::Scenario& scenario, const std::string& signal) {
        for (sim::TypedBit& bit : scenario.device.bits)
            if (bit.signal == signal) return &bit.place;
        return nullptr;
    }

    /// Two bits of one way, both in use at both ends; where there are no two, one that is moved.
    void swapped_bits() {
        for (std::size_t a = 0; a < s_.signals.size(); ++a)
            for (std::size_t b = a + 1; b < s_.signals.size(); ++b) {
                if (s_.signals[a].direction != s_.signals[b].direction) continue;
                sim::Scenario swapped = s_;
                sim::BitPlace* first = place_at_device(swapped, s_.signals[a].name);
                sim::BitPlace* second = place_at_device(swapped, s_.signals[b].name);
                if (first == nullptr || second == nullptr) continue;
                std::swap(*first, *second);
                changed("Exchange the bits of " + s_.signals[a].name + " and " + s_.signals[b].name + " at the " +
                            names_.device + " and start the link",
                        swapped, "bits typed as in the link sheet");
                return;
            }
        moved_bit();
    }

    /// To a bit that is not in use: the bits in use are under the parameter signature.
    void moved_bit() {
        if (s_.signals.empty()) return;
        sim::Scenario moved = s_;
        const sim::Signal& signal = s_.signals.front();
        sim::BitPlace* place = place_at_device(moved, signal.name);
        if (place == nullptr) return;
        proto::LinkSettings& link = moved.device.link;
        proto::BitUse& used = signal.direction == sim::Direction::to_device ? link.bits_received : link.bits_sent;
        const auto mask = [](unsigned bit) { return static_cast<std::uint8_t>(1U << bit); };
        const unsigned to = (place->bit + 1) % 8;
        std::uint8_t& byte = used[place->byte];
        if ((byte & mask(to)) != 0) return;
        byte = static_cast<std::uint8_t>((byte & ~mask(place->bit)) | mask(to));
        place->bit = to;
        changed("Move the bit of " + signal.name + " at the " + names_.device + " to " + std::to_string(place->byte) +
                    "." + std::to_string(to) + " and start the link",
                moved, "bits typed as in the link sheet");
    }

    const sim::Scenario& s_;
    std::uint64_t seed_;
    EndNames names_;
    Value::List list_;
};

}  // namespace

Value describe_acceptance(const sim::Scenario& scenario, std::uint64_t seed) {
    const sim::ResponseTime response = sim::response_of(scenario);
    const auto distance = sim::distance_of(scenario, response);
    constexpr double um_per_mm = 1000.0;
    const bool there = scenario.distance && scenario.distance->there_um;
    return Value::Object{
        {"scenario", scenario.file},
        {"seed", seed},
        {"rows", Rows(scenario, seed).made()},
        {"stopping_ms", Value::of(response.stopping)},
        {"needed_mm", distance ? Value(sim::whole_mm_up(distance->needed)) : Value()},
        {"there_mm", there ? Value(static_cast<double>(*scenario.distance->there_um) / um_per_mm) : Value()},
    };
}

}  // namespace tools
