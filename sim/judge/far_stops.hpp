#pragma once
// What becomes of a link's machine when something strikes another link of the cell. It hears its own link; who owns all
// of them tells it what begins elsewhere. It judges nothing. Links are moved one after the other between two scans of
// the controller, so it may hear of something elsewhere after what its machine was told later: time decides, not the
// order.
#include <algorithm>
#include <cstddef>
#include <optional>
#include <span>
#include <tuple>
#include <variant>
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
        before_ = machine_;
    }

    /// As if made anew; those who are told stay.
    void begin_again() {
        if (machine_) machine_->begin_again();
        if (before_) before_->begin_again();
        recent_.clear();
        stops_.clear();
        begun_.clear();
    }

    using hears = std::tuple<MachineTold, Touched, DriveSlows, SpeedLimited>;
    void hear(const MachineTold& told) { take(told); }
    void hear(const DriveSlows& drive) { take(drive); }
    void hear(const SpeedLimited& limited) { take(limited); }
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
    using Fact = std::variant<MachineTold, DriveSlows, SpeedLimited>;
    /// No link is further ahead of another than a controller's cycle, which is no longer.
    static constexpr Duration ahead_at_most = proto::seconds(10);
    static constexpr std::size_t recent_few = 16;

    static Instant time_of(const Fact& fact) {
        return std::visit([](const auto& one) { return one.at; }, fact);
    }
    void take(const Fact& fact) {
        if (!machine_) return;
        if (recent_.size() >= recent_most_) forget_before(time_of(fact) - ahead_at_most);
        recent_.push_back(fact);
        apply(fact, *machine_, stops_);
    }
    /// Only now and then, so that a machine that is told something in each scan costs no more for it.
    void forget_before(Instant time) {
        std::size_t old = 0;
        while (old < recent_.size() && time_of(recent_[old]) < time) apply(recent_[old++], *before_, {});
        recent_.erase(recent_.begin(), recent_.begin() + static_cast<std::ptrdiff_t>(old));
        recent_most_ = std::max(recent_few, recent_.size() * 2);
    }
    static void apply(const Fact& fact, MachineModel& machine, std::span<Stop> stops) {
        if (const auto* told = std::get_if<MachineTold>(&fact)) apply(*told, machine, stops);
        if (const auto* drive = std::get_if<DriveSlows>(&fact)) machine.let_slow(drive->slows);
        if (const auto* limited = std::get_if<SpeedLimited>(&fact)) machine.limit_reduced(limited->um_s, limited->at);
    }
    static void apply(const MachineTold& told, MachineModel& machine, std::span<Stop> stops) {
        for (Stop& stop : stops) {
            end_if_over(stop.motion, machine, told.at);
            // a stop that was under way when it struck came to its end: what comes later has another cause
            const bool was_stopping = !stop.motion.commanded && stop.motion.in_force >= DriveCommand::stop_category_2;
            if (was_stopping && machine.settles_at() <= told.at) stop.motion.over = true;
        }
        if (told.command)
            machine.command(*told.command, told.at);
        else
            machine.start(told.at);
        if (told.speeds_up) machine.speed_up(told.at);
        for (Stop& stop : stops) follow(stop.motion, machine, told);
    }

    void begin(std::size_t link, const Touched& touched) {
        std::size_t first_later = recent_.size();
        while (first_later > 0 && time_of(recent_[first_later - 1]) > touched.at) --first_later;
        Stop stop{link, touched.fault, touched.since, {}};
        if (first_later == recent_.size()) {
            stop.motion = motion_from(machine_, touched.at, touched.since);
        } else {
            std::optional<MachineModel> then = before_;
            for (std::size_t i = 0; i < first_later; ++i) apply(recent_[i], *then, {});
            stop.motion = motion_from(then, touched.at, touched.since);
            for (std::size_t i = first_later; i < recent_.size(); ++i) apply(recent_[i], *then, {&stop, 1});
        }
        stops_.push_back(stop);
    }
    std::optional<MachineModel> machine_;
    std::optional<MachineModel> before_;    ///< as it was before `recent_`
    std::vector<Fact> recent_;              ///< what machine_ was told since, by time
    std::size_t recent_most_ = recent_few;  ///< with so many it forgets what is old
    std::vector<Stop> stops_;
    std::vector<bool> begun_;
    std::vector<FarStops*> tells_;
    std::size_t own_link_ = 0;
};

}  // namespace sim
