#pragma once
// The plant on both sides of the links: safeguards with their contacts, the machine with what stops it, and which
// demands are still on their way. It knows no link and no time but what it is told.
#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "sim/plant/application.hpp"
#include "sim/plant/machine.hpp"
#include "sim/plant/mutings.hpp"
#include "sim/plant/safeguard.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

/// What is told to the drive.
struct DriveAct {
    DriveCommand command = DriveCommand::run;
    bool speeds_up = false;  ///< from reduced to full speed, without a start
};

class Plant {
  public:
    /// Requires a scenario that the reader has accepted; it must outlive the plant.
    explicit Plant(const Scenario& scenario);
    /// As it was at first.
    void begin_again();

    // ---- safeguards, by their place in the scenario ----
    [[nodiscard]] const SafeguardModel& safeguard(std::size_t index) const { return safeguards_[index]; }
    [[nodiscard]] std::size_t index_of(std::string_view safeguard) const;
    /// One bit per safeguard, 1: no demand.
    [[nodiscard]] std::uint64_t free() const { return free_; }
    void demand(std::size_t index, DemandChannel channel, Instant now);
    void release(std::size_t index, DemandChannel channel, Instant now);
    void check(std::size_t index, Instant now);
    /// What somebody does to the button of a reset.
    enum class ResetAct : std::uint8_t { press_and_let_go, press, let_go };
    /// Counts as the button is let go, once: one that is held or stuck resets nothing. Without effect unless the
    /// safeguard, and all of each function that asks for this reset, are free as it is pressed, as it is let go and
    /// in between (ISO 13849-1, manual reset; from memory).
    void reset(std::size_t index, ResetAct act, Instant now);

    // ---- modes ----
    /// What an application sees of the plant, beside the signals that it receives.
    [[nodiscard]] Inputs inputs(std::uint64_t received) const { return {received, free_, modes_, mutings_.muted()}; }
    /// Somebody begins to select that mode, or has it selected alone. It starts nothing: what runs at its reduced speed
    /// takes a start from now on.
    void select_mode(std::size_t mode, bool alone);

    /// Ends each muting whose time is over; when the next one is.
    Instant end_mutings(Instant now) {
        mutings_.see(free_, now);
        return mutings_.next_end();
    }
    /// A demand of it brings down less than it would, since something is muted.
    [[nodiscard]] bool muted(std::size_t safeguard) const;

    // ---- machine ----
    /// The end that commands the machine; without one, the device.
    [[nodiscard]] End output_end() const { return output_end_; }
    /// nullptr without a machine.
    [[nodiscard]] const MachineModel* machine() const { return machine_ ? &*machine_ : nullptr; }
    [[nodiscard]] bool machine_moves(Instant now) const { return machine_ && machine_->moving(now); }
    /// What the output's end uses commands the drive; what is new, or nothing if it stays what it was. `link_runs`:
    /// else the signals are 0 since the link fails, and no speed returns by itself.
    std::optional<DriveAct> drive(std::uint64_t signals, bool link_runs, Instant now);
    /// See MachineModel; nothing without a machine.
    friend bool limit_reduced(Plant& plant, std::int64_t um_s, Instant now) {
        return plant.machine_ && plant.machine_->limit_reduced(um_s, now);
    }
    /// A fault of the drive, see MachineModel. Requires a machine.
    void drive_slows(bool slows) { machine_->let_slow(slows); }
    /// The output went off without a signal: what slows down now takes a start.
    void output_failed() { start_needed_ = true; }
    /// Somebody starts the machine; false if there is none or it refuses.
    bool start_machine(Instant now) {
        if (!machine_ || !machine_->start(now)) return false;
        start_needed_ = false;
        return true;
    }
    /// Emergency stop or isolation, see MachineModel. Nothing is commanded before the next drive().
    void hold_machine(MachineModel::Hold what, bool on) {
        if (machine_) machine_->hold(what, on);
    }
    /// After the first stop the machine never moved but by a deliberate start.
    [[nodiscard]] bool moved_by_itself() const { return moved_by_itself_; }

    // ---- demands on their way to the output ----
    /// The signals that a demand on that safeguard must bring to 0 at the output's end; 0: it asks for nothing there.
    [[nodiscard]] std::uint64_t asked_of_output(std::size_t safeguard) const;
    /// A demand opens: until all of `signals` are 0 at the output's end.
    void open_demand(std::uint64_t signals) { open_.push_back(signals); }
    /// What the output's end uses after its scan closes the demands that it satisfies.
    void use_at_output(std::uint64_t signals);
    [[nodiscard]] bool demand_open() const { return !open_.empty(); }

  private:
    void changed(std::size_t index, Instant now);
    /// The safeguard, and those that its reset asks for, are free of demands.
    [[nodiscard]] bool reset_is_free(std::size_t index) const;
    /// The button of a reset.
    struct ResetButton {
        unsigned pressing = 0;  ///< who has a finger on it
        bool counts = false;    ///< all has been free since it was pressed
    };
    /// A signal whose fall commands the drive.
    struct Reaction {
        std::uint64_t signal;  ///< its bit
        DriveCommand command;
        bool start_needed;  ///< only a start gives the speed back
    };

    std::vector<std::uint64_t> open_;  ///< this and the end that it is about are asked for in every scan
    End output_end_ = End::device;
    const Scenario& scenario_;
    std::vector<SafeguardModel> at_first_, safeguards_;  ///< as the run begins, and as they are
    std::uint64_t free_ = ~std::uint64_t{0};
    std::optional<MachineModel> machine_;
    std::vector<Reaction> reactions_;
    std::vector<std::vector<std::uint64_t>> asked_;  ///< by mode (one without modes), by safeguard
    std::uint64_t obeyed_ = 0;                       ///< signals
    std::uint64_t modes_ = 0;
    Mutings mutings_;
    std::vector<std::uint64_t> reset_asks_of_;  ///< by safeguard: those that must be free too
    std::vector<ResetButton> reset_buttons_;    ///< by safeguard
    bool moved_by_itself_ = false;
    bool start_needed_ = false;  ///< since it was slowed down: something asks for a start, or the link failed
};

}  // namespace sim
