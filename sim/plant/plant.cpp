#include "sim/plant/plant.hpp"

#include <algorithm>

#include "proto/contract.hpp"
#include "sim/plant/application.hpp"

namespace sim {

Plant::Plant(const Scenario& scenario) : scenario_(scenario) {
    for (const Safeguard& safeguard : scenario.safeguards) safeguards_.emplace_back(safeguard);
    std::uint64_t obeyed = 0;
    if (scenario.machine) {
        machine_.emplace(*scenario.machine);
        output_end_ = scenario.machine->at;
        for (const MachineReaction& reaction : scenario.machine->reactions)
            for (std::size_t i = 0; i < scenario.signals.size(); ++i)
                if (scenario.signals[i].name == reaction.signal) {
                    reactions_.push_back({std::uint64_t{1} << i, command_of(reaction.stop)});
                    obeyed |= std::uint64_t{1} << i;
                }
    }
    if (obeyed == 0) obeyed = Application(scenario, output_end_).receives();
    for (std::size_t i = 0; i < safeguards_.size(); ++i) asked_.push_back(signals_depending_on(scenario, i) & obeyed);
}

void Plant::begin_again() {
    for (std::size_t i = 0; i < safeguards_.size(); ++i) safeguards_[i] = SafeguardModel(scenario_.safeguards[i]);
    free_ = ~std::uint64_t{0};
    if (machine_) machine_->begin_again();
    open_.clear();
    moved_by_itself_ = false;
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
    safeguards_[index].reset();
    changed(index);
}

std::optional<DriveCommand> Plant::drive(std::uint64_t signals, Instant now) {
    if (!machine_) return std::nullopt;
    DriveCommand command = machine_->mildest();
    for (const Reaction& reaction : reactions_)
        if ((signals & reaction.signal) == 0) command = std::max(command, reaction.command);
    if (command == machine_->command()) return std::nullopt;
    const std::int64_t speed_before = machine_->speed(now);
    machine_->command(command, now);
    if (machine_->speed(now) > speed_before) moved_by_itself_ = true;
    return command;
}

void Plant::use_at_output(std::uint64_t signals) {
    const auto satisfied = [signals](std::uint64_t asked) { return (asked & signals) == 0; };
    open_.erase(std::remove_if(open_.begin(), open_.end(), satisfied), open_.end());
}

}  // namespace sim
