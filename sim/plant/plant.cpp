#include "sim/plant/plant.hpp"

#include <algorithm>

#include "proto/contract.hpp"
#include "sim/plant/application.hpp"

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
    for (const SafetyFunction& function : scenario.functions) {
        const auto has = [&](const Safeguard& one) {
            return std::find(function.safeguards.begin(), function.safeguards.end(), one.name) !=
                   function.safeguards.end();
        };
        if (function.returns != Returns::after_reset || !has(safeguard)) continue;
        for (std::size_t i = 0; i < scenario.safeguards.size(); ++i)
            if (has(scenario.safeguards[i])) all |= std::uint64_t{1} << i;
    }
    return all;
}

/// Some safeguard that feeds the signal asks for a start, or no function says what gives its speed back.
bool asks_for_start(const Scenario& scenario, std::uint64_t signal) {
    for (std::size_t i = 0; i < scenario.safeguards.size(); ++i) {
        if ((signals_depending_on(scenario, i) & signal) == 0) continue;
        bool stated = false;
        for (const SafetyFunction& function : scenario.functions) {
            const auto& of = function.safeguards;
            if (std::find(of.begin(), of.end(), scenario.safeguards[i].name) == of.end()) continue;
            stated = true;
            if (function.returns == Returns::after_start) return true;
        }
        if (!stated) return true;
    }
    return false;
}

}  // namespace

Plant::Plant(const Scenario& scenario) : scenario_(scenario) {
    for (const Safeguard& safeguard : scenario.safeguards) {
        safeguards_.emplace_back(as_wired(scenario, safeguard));
        reset_asks_of_.push_back(in_one_reset_with(scenario, safeguard));
    }
    std::uint64_t obeyed = 0;
    if (scenario.machine) {
        machine_.emplace(*scenario.machine);
        output_end_ = scenario.machine->at;
        for (const MachineReaction& reaction : scenario.machine->reactions)
            for (std::size_t i = 0; i < scenario.signals.size(); ++i)
                if (scenario.signals[i].name == reaction.signal) {
                    const std::uint64_t bit = std::uint64_t{1} << i;
                    reactions_.push_back({bit, command_of(reaction.stop), asks_for_start(scenario, bit)});
                    obeyed |= bit;
                }
    }
    if (obeyed == 0) obeyed = Application(scenario, output_end_).receives();
    for (std::size_t i = 0; i < safeguards_.size(); ++i) asked_.push_back(signals_depending_on(scenario, i) & obeyed);
}

void Plant::begin_again() {
    for (std::size_t i = 0; i < safeguards_.size(); ++i)
        safeguards_[i] = SafeguardModel(as_wired(scenario_, scenario_.safeguards[i]));
    free_ = ~std::uint64_t{0};
    if (machine_) machine_->begin_again();
    open_.clear();
    moved_by_itself_ = start_needed_ = false;
}

std::size_t Plant::index_of(std::string_view safeguard) const {
    const auto found = std::find_if(scenario_.safeguards.begin(), scenario_.safeguards.end(),
                                    [&](const Safeguard& one) { return one.name == safeguard; });
    proto::require(found != scenario_.safeguards.end(), "an unknown safeguard");
    return static_cast<std::size_t>(found - scenario_.safeguards.begin());
}

void Plant::changed(std::size_t index) {
    const std::uint64_t bit = std::uint64_t{1} << index;
    free_ = safeguards_[index].free() ? free_ | bit : free_ & ~bit;
}

void Plant::demand(std::size_t index, DemandChannel channel, Instant now) {
    safeguards_[index].demand(channel, now);
    changed(index);
}

void Plant::release(std::size_t index, DemandChannel channel, Instant now) {
    safeguards_[index].release(channel, now);
    changed(index);
}

void Plant::check(std::size_t index, Instant now) {
    safeguards_[index].check(now);
    changed(index);
}

void Plant::reset(std::size_t index) {
    for (std::size_t i = 0; i < safeguards_.size(); ++i)
        if ((reset_asks_of_[index] >> i & 1) != 0 && safeguards_[i].demanded()) return;
    safeguards_[index].reset();
    changed(index);
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
