#pragma once
// The records of one link's three parts, brought together, and those who hear them in the order of the channel's clock.
#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <variant>
#include <vector>

#include "sim/drive/brought_together.hpp"
#include "sim/drive/join.hpp"
#include "sim/judge/demand_trail.hpp"
#include "sim/judge/far_stops.hpp"
#include "sim/judge/heard.hpp"
#include "sim/judge/observer.hpp"

namespace sim {

using JoinedLogs = std::array<JoinedLog, part_count>;

/// A tag as the channel knew it, with the sender's count in place of the channel's.
Tag true_tag(proto::Token token, const JoinedLogs& joined);

/// Faults are the scenario's own, then restarts by hand: the controller's, the device's.
struct FaultNumbers {
    std::size_t own = 0, controllers = 0, all = 0;
};

/// Lets the observer, and the time line and the stops of far machines if there are any, hear the events of all parts.
class Replay {
  public:
    Replay(const Scenario& scenario, const ScenarioLimits& limits, const FaultNumbers& faults, const JoinedLogs& joined,
           TimeLine* line, FarStops* far)
        : faults_(faults),
          observer_(scenario, limits.limits),
          trail_(scenario, limits.limits.demand_beyond),
          line_(line),
          far_(far),
          joined_(joined),
          output_end_(scenario.machine ? scenario.machine->at : End::device) {}

    /// `at`: by the channel's clock.
    void hear(const Event& event, Part part, std::size_t index, Instant at) {
        part_ = static_cast<std::size_t>(part);
        index_ = index;
        std::visit(
            [&](auto e) {
                e.at = at;
                replay(e);
            },
            event);
    }
    [[nodiscard]] Observer& observer() { return observer_; }
    [[nodiscard]] const DemandTrail& trail() const { return trail_; }
    /// Both ends, as of what was heard last.
    [[nodiscard]] bool running() const { return runs_[0] && runs_[1]; }

  private:
    template <class F>
    void tell(const F& fact) {
        if constexpr (lists<TimeLine, F>)
            if (line_ != nullptr) line_->hear(fact);
        if constexpr (lists<FarStops, F>)
            if (far_ != nullptr) far_->hear(fact);
        if constexpr (lists<DemandTrail, F>) trail_.hear(fact);
        if constexpr (lists<Observer, F>) observer_.hear(fact);
    }
    template <class F>
    void replay(const F& fact) {
        tell(fact);
    }
    void replay(const LoggedSending& e) { tell(Produced{e.way, e.signals, e.at}); }
    void replay(const Concluded& e) {
        const auto token = joined_[part_].tokens[index_];
        Tag tag;
        tag.forged = true;  // what the channel did not deliver came from elsewhere
        if (token) tag = true_tag(*token, joined_);
        tell(Concluded{e.end, tag.token(), e.verdict, e.at});
    }
    void replay(const InUse& e) {
        tell(e);
        output(e.end, e.signals, e.at);
    }
    void replay(const OutputsOff& e) {
        tell(e);
        output(e.end, 0, e.at);
    }
    void replay(const Touched& e) {
        Touched told = e;
        // each end numbers the restarts by hand that it knows after the scenario's own faults
        if (static_cast<Part>(part_) == Part::device && e.fault >= faults_.own) told.fault += faults_.controllers;
        if (told.fault < faults_.all) tell(told);  // else somebody went as the run was over
    }
    void replay(const Changed& e) {
        runs_[static_cast<std::size_t>(e.end)] = e.transition.to == proto::State::running;
        tell(e);
    }
    void replay(const Demanded& e) {
        tell(e);
        // an end that is stopped, or off, takes no telegram that would tell what it uses: nothing
        if (!runs_[static_cast<std::size_t>(output_end_)]) output(output_end_, 0, e.at);
    }
    void replay(const LoggedParameter&) {}
    void replay(const LoggedRepeat&) {}
    void replay(const LoggedArrival&) {}
    void replay(const LoggedOffer&) {}
    void replay(const LoggedDelivery&) {}
    void replay(const Befell&) {}
    void output(End end, std::uint64_t signals, Instant at) {
        if (end == output_end_ && observer_.demand_open()) tell(OutputUsed{signals, at});
    }

    FaultNumbers faults_;
    Observer observer_;
    DemandTrail trail_;
    TimeLine* line_;
    FarStops* far_;
    const JoinedLogs& joined_;
    End output_end_;
    std::array<bool, 2> runs_{};  ///< by End
    std::size_t part_ = 0, index_ = 0;
};

/// An event's place in the order of time.
struct Moment {
    std::int64_t at;  ///< by the channel's clock
    Part part;
    std::size_t index;
};

class ReplayedLink {
  public:
    /// All must outlive it. `far`: of a link of a cell.
    ReplayedLink(const Scenario& scenario, const ScenarioLimits& limits, const PartRecords& parts,
                 const Witnesses& witnesses, FarStops* far = nullptr);
    ReplayedLink(const ReplayedLink&) = delete;
    ReplayedLink& operator=(const ReplayedLink&) = delete;
    ~ReplayedLink() = default;

    /// False: too few telegrams of one part are known to the others.
    [[nodiscard]] bool belong_together() const;
    /// Parts that run on one clock in several links may know it better from all of them together.
    [[nodiscard]] ClockOffset& offset(Part part) { return joined_[static_cast<std::size_t>(part)].offset; }
    /// All events of all parts.
    [[nodiscard]] std::vector<Moment> in_order() const;
    [[nodiscard]] const Event& event(const Moment& moment) const {
        return parts_[static_cast<std::size_t>(moment.part)].log.events[moment.index];
    }
    void hear(const Moment& moment) { hear(event(moment), moment); }
    /// The same with another event in its place.
    void hear(const Event& event, const Moment& moment) {
        replay_.hear(event, moment.part, moment.index, Instant{moment.at});
    }
    [[nodiscard]] bool running() const { return replay_.running(); }
    [[nodiscard]] const DemandTrail& trail() const { return replay_.trail(); }
    /// Once everything was heard.
    RunResult result(std::uint64_t seed);

  private:
    const Scenario& scenario_;
    const PartRecords& parts_;
    Witnesses witnesses_;
    JoinedLogs joined_;
    Replay replay_;
};

}  // namespace sim
