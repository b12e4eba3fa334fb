#include "sim/plant/plant.hpp"

#include <algorithm>
#include <utility>

#include "proto/contract.hpp"
#include "sim/plant/application.hpp"
#include "sim/plant/reached.hpp"

namespace sim {
namespace {

/// The safeguard as it is wired: a function that asks for a reset keeps its signal at 0 until then.
Safeguard as_wired(const Scenario& scenario, Safeguard safeguard) {
    safeguard.latched = safeguard.latched || needs_reset(scenario, safeguard.name);
    return safeguard;
}

/// The safeguards of each function whose reset brings that one back, one bit each.
std::uint64_t in_one_reset_with(const Scenario& scenario, const Safeguard& safeguard) {
    std::uint64_t all = 0;
    for (const std::vector<SafetyFunction>* functions : {&scenario.functions, &scenario.functions_elsewhere})
        for (const SafetyFunction& function : *functions) {
            if (function.returns != Returns::after_reset || !names(function, safeguard.name)) continue;
            for (std::size_t i = 0; i < scenario.safeguards.size(); ++i)
                if (names(function, scenario.safeguards[i].name)) all |= std::uint64_t{1} << i;
        }
    return all;
}

/// Some safeguard that feeds the signal asks for a start, or no function says what gives its speed back.
bool asks_for_start(const Scenario& scenario, std::uint64_t signal) {
    for (std::size_t i = 0; i < scenario.safeguards.size(); ++i) {
        bool feeds = false;
        for (std::size_t mode = 0; mode < scenario.mode_count(); ++mode)
            feeds = feeds || (signals_depending_on(scenario, i, mode) & signal) != 0;
        if (!feeds) continue;
        bool stated = false;
        for (const SafetyFunction& function : scenario.functions) {
            if (!names(function, scenario.safeguards[i].name)) continue;
            stated = true;
            if (function.returns == Returns::after_start) return true;
        }
        if (!stated) return true;
    }
    return false;
}

}  // namespace

Plant::Plant(const Scenario& scenario) : scenario_(scenario), mutings_(scenario) {
    for (const Safeguard& safeguard : scenario.safeguards) {
        at_first_.emplace_back(as_wired(scenario, safeguard));
        reset_asks_of_.push_back(in_one_reset_with(scenario, safeguard));
    }
    safeguards_ = at_first_;
    reset_buttons_.resize(safeguards_.size());
    std::uint64_t obeyed = 0;
    output_end_ = sim::output_end(scenario);
    if (scenario.machine) {
        machine_.emplace(*scenario.machine);
        for (const MachineReaction& reaction : scenario.machine->reactions)
            for (std::size_t i = 0; i < scenario.signals.size(); ++i)
                if (scenario.signals[i].name == reaction.signal) {
                    const std::uint64_t bit = std::uint64_t{1} << i;
                    reactions_.push_back({bit, command_of(reaction.stop), asks_for_start(scenario, bit)});
                    obeyed |= bit;
                }
    }
    if (obeyed == 0) obeyed = Application(scenario, output_end_).receives();
    obeyed_ = obeyed;
    asked_.resize(scenario.mode_count());
    for (std::size_t mode = 0; mode < asked_.size(); ++mode)
        for (std::size_t i = 0; i < safeguards_.size(); ++i)
            asked_[mode].push_back(at_once(scenario, signals_depending_on(scenario, i, mode) & obeyed));
    modes_ = scenario.modes.empty() ? 0 : 1;
}

std::uint64_t Plant::asked_of_output(std::size_t safeguard) const {
    const std::uint64_t muted = mutings_.muted();
    const auto in_mode = [&](std::size_t mode) {
        return muted == 0 ? asked_[mode][safeguard]
                          : at_once(scenario_, signals_depending_on(scenario_, safeguard, mode, muted) & obeyed_);
    };
    if (modes_ == 0) return in_mode(0);
    std::uint64_t asked = 0;
    for (std::size_t mode = 0; mode < asked_.size(); ++mode)
        if ((modes_ >> mode & 1) != 0) asked |= in_mode(mode);
    return asked;
}

bool Plant::muted(std::size_t safeguard) const {
    std::uint64_t asked = 0;
    for (std::size_t mode = 0; mode < asked_.size(); ++mode)
        if (modes_ == 0 || (modes_ >> mode & 1) != 0) asked |= asked_[mode][safeguard];
    return asked_of_output(safeguard) != asked;
}

void Plant::select_mode(std::size_t mode, bool alone) {
    const std::uint64_t bit = std::uint64_t{1} << mode;
    modes_ = alone ? bit : modes_ | bit;
    if (machine_ && machine_->in_force() != DriveCommand::run) start_needed_ = true;
}

void Plant::begin_again() {
    safeguards_ = at_first_;
    free_ = ~std::uint64_t{0};
    if (machine_) machine_->begin_again();
    open_.clear();
    mutings_.begin_again();
    reset_buttons_.assign(safeguards_.size(), ResetButton{});
    modes_ = scenario_.modes.empty() ? 0 : 1;
    moved_by_itself_ = start_needed_ = false;
}

std::size_t Plant::index_of(std::string_view safeguard) const {
    const std::size_t place = scenario_.place_of(safeguard);
    proto::require(place < safeguards_.size(), "an unknown safeguard");
    return place;
}

void Plant::changed(std::size_t index, Instant now) {
    const std::uint64_t bit = std::uint64_t{1} << index;
    free_ = safeguards_[index].free() ? free_ | bit : free_ & ~bit;
    mutings_.see(free_, now);
}

void Plant::demand(std::size_t index, DemandChannel channel, Instant now) {
    safeguards_[index].demand(channel, now);
    // a press that a demand fell into does not count when it is let go
    for (std::size_t i = 0; i < reset_buttons_.size(); ++i)
        if (reset_buttons_[i].counts && !reset_is_free(i)) reset_buttons_[i].counts = false;
    changed(index, now);
}

void Plant::release(std::size_t index, DemandChannel channel, Instant now) {
    safeguards_[index].release(channel, now);
    changed(index, now);
}

void Plant::check(std::size_t index, Instant now) {
    safeguards_[index].check(now);
    changed(index, now);
}

bool Plant::reset_is_free(std::size_t index) const {
    for (std::size_t i = 0; i < safeguards_.size(); ++i)
        if (((reset_asks_of_[index] >> i & 1) != 0 || i == index) && safeguards_[i].demanded()) return false;
    return true;
}

void Plant::reset(std::size_t index, ResetAct act, Instant now) {
    ResetButton& button = reset_buttons_[index];
    if (act == ResetAct::press) {
        if (button.pressing++ == 0) button.counts = reset_is_free(index);
        return;
    }
    if (act == ResetAct::let_go) {
        if (button.pressing == 0 || --button.pressing > 0 || !std::exchange(button.counts, false)) return;
    } else if (button.pressing > 0) {
        return;  // it is down already, and stays so
    }
    if (!reset_is_free(index)) return;
    safeguards_[index].reset();
    changed(index, now);
}

std::optional<DriveAct> Plant::drive(std::uint64_t signals, bool link_runs, Instant now) {
    if (!machine_) return std::nullopt;
    DriveCommand command = machine_->mildest();
    if (!link_runs) start_needed_ = true;
    for (const Reaction& reaction : reactions_) {
        if ((signals & reaction.signal) != 0) continue;
        command = std::max(command, reaction.command);
        if (reaction.start_needed) start_needed_ = true;
    }
    if (command == machine_->command()) return std::nullopt;
    const std::int64_t speed_before = machine_->speed(now);
    machine_->command(command, now);
    if (machine_->speed(now) > speed_before) moved_by_itself_ = true;
    const bool returns = command == DriveCommand::run && !start_needed_ && machine_->speed_up(now);
    return DriveAct{command, returns};
}

void Plant::use_at_output(std::uint64_t signals) {
    const auto satisfied = [signals](std::uint64_t asked) { return (asked & signals) == 0; };
    open_.erase(std::remove_if(open_.begin(), open_.end(), satisfied), open_.end());
}

}  // namespace sim
