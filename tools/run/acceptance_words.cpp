#include "tools/run/acceptance_words.hpp"

#include <variant>

#include "sim/plant/reached.hpp"
#include "sim/scenario/units.hpp"
#include "sim/studies/acceptance_checks.hpp"
#include "sim/timing/minimum_distance.hpp"

namespace tools {
namespace {

using sim::AcceptanceAct;
using sim::End;
using Kind = AcceptanceAct::Kind;

const char* const clear = "Nobody in the zone, barrier closed, measured from outside. ";

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

std::string speed(std::int64_t um_s) { return written(sim::micrometres(um_s)) + "/s"; }

/// At the end where a guard is wired the input falls first, then what that end sends; the other one receives.
std::string shown_at(const sim::Scenario& s, const std::vector<std::size_t>& safeguards, End end,
                     const std::string& contact, const std::string& value) {
    std::string words;
    const auto add = [&](const std::string& what) { words += (words.empty() ? "" : ", ") + what + value; };
    std::uint64_t told = 0;
    for (const std::size_t i : safeguards)
        if (s.safeguards[i].at == end) add(s.safeguards[i].name + (contact.empty() ? "" : " " + contact));
    for (const std::size_t i : safeguards)
        for (const std::size_t signal : sim::falling_with(s, i)) {
            if ((told >> signal & 1) != 0) continue;
            told |= std::uint64_t{1} << signal;
            const bool received = sim::receiver(s.signals[signal].direction) == end;
            add(s.signals[signal].name + (received ? "" : " sent"));
        }
    return words;
}

std::string free_and_reset(const sim::Scenario& s, const std::string& name) {
    const std::size_t guard = s.place_of(name);
    const bool reset = guard < s.safeguards.size() && sim::is_reset(s, s.safeguards[guard]);
    return name + " free again" + (reset ? " and reset" : "");
}

}  // namespace

std::string words_for(const std::set<proto::Cause>& causes) {
    std::string words;
    for (const proto::Cause cause : causes) words += (words.empty() ? "" : ", or: ") + words_for(cause);
    return words;
}

std::string falls_at(const sim::Scenario& scenario, const std::vector<std::size_t>& safeguards, End end,
                     const std::string& contact) {
    return shown_at(scenario, safeguards, end, contact, " 0");
}
std::string rises_at(const sim::Scenario& scenario, std::size_t safeguard, End end) {
    return shown_at(scenario, {safeguard}, end, {}, " 1");
}

std::string machine_must(const sim::Scenario& scenario, const std::optional<sim::AskedOfMachine>& asked) {
    if (!scenario.machine || !asked) return "outputs off";
    std::string words = "stops by itself";
    switch (asked->stop) {  // IEC 60204-1, 9.2
        case sim::StopCategory::category_0: words += ", category 0: its power goes at once"; break;
        case sim::StopCategory::category_1: words += ", category 1: its power goes once it stands"; break;
        case sim::StopCategory::category_2: words += ", category 2: it stands with its power on"; break;
        case sim::StopCategory::reduced_speed:
            return "slows down by itself to at most " + speed(asked->slow_um_s) + " and runs on";
    }
    return asked->slow_um_s == 0 ? words
                                 : words + "; at " + speed(asked->slow_um_s) + " or less in time, then at standstill";
}

std::string clock_stops(const sim::Scenario& scenario, const std::optional<sim::AskedOfMachine>& asked) {
    if (!scenario.machine || !asked) return "stops: outputs are off";
    if (asked->slow_um_s != 0)
        return "stops: " + scenario.machine->name + " at " + speed(asked->slow_um_s) + " or less" +
               (asked->stands_later() ? "; a second one at standstill" : "");
    return "stops: " + scenario.machine->name + " at standstill";
}

std::string deed_of(const sim::RehearsedAct& rehearsed) {
    const AcceptanceAct& act = rehearsed.act;
    const std::string both = act.together_with.empty() ? "" : " and " + act.together_with + " at once";
    if (act.kind == Kind::demand_in_cut)
        return std::string(clear) +
               "At full speed. From the cabinet outside the barrier pull the network plug, and demand " +
               act.safeguard + " at the same moment";
    if (act.speed == AcceptanceAct::Speed::reduced)
        return std::string(clear) + "At reduced speed demand " + act.safeguard;
    if (!both.empty()) return std::string(clear) + "At full speed demand " + act.safeguard + both;
    return std::string(clear) + "At full speed, worst load and position, demand " + act.safeguard + ", ten times";
}

std::string undone_by(const sim::Scenario& scenario, const AcceptanceAct& act) {
    std::string words = free_and_reset(scenario, act.safeguard);
    if (!act.together_with.empty()) words += ", " + free_and_reset(scenario, act.together_with);
    if (act.kind == Kind::demand_in_cut) words += ", plug back in";
    return words;
}

FreeAgainWords free_again_words(const sim::Scenario& scenario, const sim::RehearsedCheck& check) {
    const sim::Safeguard& guard = scenario.safeguards[check.safeguard];
    const bool slow = check.asked && check.asked->runs_on();
    const bool reset = sim::is_reset(scenario, guard);
    const sim::Returns returns = sim::returns_of(scenario, guard.name);
    const std::string stays =
        slow ? "stays at or under " + speed(scenario.machine->reduced_speed_um_s) : "stands still";
    FreeAgainWords words;
    words.act = "Nobody in the zone, barrier closed. At full speed demand " + guard.name +
                (slow ? " and wait until it is slow. " : " and wait for standstill. ");
    if (reset) words.act += "Press its reset and let go while it is still demanded. ";
    words.act += "Let " + guard.name + " go and wait 10 s. ";
    if (reset) words.act += "Press its reset, hold it for " + sim::written(sim::reset_held) + ", let go, wait 10 s. ";
    const bool by_itself = slow && returns == sim::Returns::by_itself && !reset;
    const bool by_reset = slow && returns != sim::Returns::after_start && !by_itself;
    if (by_itself) {
        words.machine = "speeds up by itself once " + guard.name + " is free";
    } else if (by_reset) {
        words.machine = stays +
                        " until the reset is let go, then speeds up by itself; a reset that is held, or pressed "
                        "while " +
                        guard.name + " is demanded, does nothing";
    } else {
        words.act += "Start it last";
        words.machine = stays + " until it is started";
        if (reset)
            words.machine += "; a reset that is held, or pressed while " + guard.name +
                             " is demanded, does nothing, and one that counts starts nothing";
    }
    while (!words.act.empty() && (words.act.back() == ' ' || words.act.back() == '.')) words.act.pop_back();
    return words;
}

WireWords wire_words(const sim::Scenario& scenario, const sim::RehearsedCheck& check) {
    const sim::Safeguard& guard = scenario.safeguards[check.safeguard];
    const bool reset = sim::is_reset(scenario, guard);
    if (check.channel == sim::DemandChannel::both)
        return {"Machine locked out. Take a wire of " + guard.name + " off its terminal", "",
                std::string("wire on again") + (reset ? ", reset" : "")};
    const std::string contact = check.channel == sim::DemandChannel::a ? "contact a" : "contact b";
    return {"Machine locked out. Take a wire of " + contact + " of " + guard.name +
                " off its terminal for longer than " + sim::written(guard.discrepancy) +
                " (its discrepancy time), put it back and reset: the signals must stay 0. Then demand it so that both "
                "contacts open, free it and reset",
            contact, "wire on again, both contacts seen open, reset"};
}

namespace {

struct HowMistyped {
    const sim::Scenario& s;
    const std::string& device;

    MistypedWords operator()(const sim::MistypedAddress& typed) const {
        const sim::TypedAddress right = s.device.own_address(), wrong{typed.address, right.hex_digits};
        return {"Type address " + in_both_bases(wrong) + " at the " + device + " and start the link",
                "right address typed: " + in_both_bases(right)};
    }
    MistypedWords operator()(const sim::MistypedWatchdog& typed) const {
        return {"Type a watchdog of " + sim::written(typed.watchdog) + " at the " + device + " and start the link",
                "right watchdog typed: " + sim::written(s.device.link.watchdog)};
    }
    MistypedWords operator()(const sim::ExchangedBits& typed) const {
        return {"Exchange the bits of " + typed.first + " and " + typed.second + " at the " + device +
                    " and start the link",
                "bits typed as in the link sheet"};
    }
    MistypedWords operator()(const sim::MovedBit& typed) const {
        return {"Move the bit of " + typed.signal + " at the " + device + " to " + std::to_string(typed.to.byte) + "." +
                    std::to_string(typed.to.bit) + " and start the link",
                "bits typed as in the link sheet"};
    }
};

}  // namespace

MistypedWords mistyped_words(const sim::Scenario& scenario, const std::string& device, const sim::Mistyped& mistyped) {
    return std::visit(HowMistyped{scenario, device}, mistyped.what);
}

}  // namespace tools
