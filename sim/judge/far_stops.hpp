#pragma once
// What becomes of a link's machine when something strikes another link of the cell. It hears its own link; who owns all
// of them tells it what begins elsewhere. It judges nothing.
#include <cstddef>
#include <optional>
#include <tuple>
#include <vector>

#include "sim/judge/events.hpp"
#include "sim/judge/motion.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

class FarStops {
  public:
    /// Something that began to strike another link.
    struct Stop {
        std::size_t link = 0, fault = 0;  ///< the other link, and the index of the fault there
        Instant since{};
        Motion motion;
    };

    explicit FarStops(const Scenario& scenario) {
        if (scenario.machine) machine_.emplace(*scenario.machine);
    }

    /// As if made anew; those who are told stay.
    void begin_again() {
        if (machine_) machine_->begin_again();
        stops_.clear();
        begun_.clear();
    }

    using hears = std::tuple<MachineTold, Touched, DriveSlows, SpeedLimited>;
    void hear(const MachineTold& told) {
        if (!machine_) return;
        for (Stop& stop : stops_) {
            end_if_over(stop.motion, *machine_, told.at);
            // a stop that was under way when it struck came to its end: what comes later has another cause
            const bool was_stopping = !stop.motion.commanded && stop.motion.in_force >= DriveCommand::stop_category_2;
            if (was_stopping && machine_->settles_at() <= told.at) stop.motion.over = true;
        }
        if (told.command)
            machine_->command(*told.command, told.at);
        else
            machine_->start(told.at);
        if (told.speeds_up) machine_->speed_up(told.at);
        for (Stop& stop : stops_) follow(stop.motion, *machine_, told);
    }
    void hear(const DriveSlows& drive) {
        if (machine_) machine_->let_slow(drive.slows);
    }
    void hear(const SpeedLimited& limited) {
        if (machine_) machine_->limit_reduced(limited.um_s, limited.at);
    }
    void hear(const Touched& touched) {
        if (touched.fault >= begun_.size()) begun_.resize(touched.fault + 1, false);
        if (begun_[touched.fault]) return;
        begun_[touched.fault] = true;
        for (FarStops* other : tells_) other->begin(own_link_, touched);
    }

    /// The first time that a fault touches this link, number `own`, these are told.
    void tell(std::size_t own, std::vector<FarStops*> others) {
        own_link_ = own;
        tells_ = std::move(others);
    }
    [[nodiscard]] const std::vector<Stop>& stops() const { return stops_; }

  private:
    void begin(std::size_t link, const Touched& touched) {
        stops_.push_back({link, touched.fault, touched.since, motion_from(machine_, touched.at, touched.since)});
    }
    std::optional<MachineModel> machine_;
    std::vector<Stop> stops_;
    std::vector<bool> begun_;
    std::vector<FarStops*> tells_;
    std::size_t own_link_ = 0;
};

}  // namespace sim
