#pragma once
// A bench: one link that runs while people look at it and act on it. Whoever owns it says how far its plant time goes
// on; it never looks at a clock. Everything a technician could read at the two ends can be read here.
//
// Of several links at one controller each has a bench of its own. That of the link in question holds the others, moves
// all of them together, and what people do at it they do to the whole line.
#include <array>
#include <cstdint>
#include <deque>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "sim/judge/event_log.hpp"
#include "sim/scenario/faults.hpp"
#include "sim/training/bench_line.hpp"
#include "sim/training/hand.hpp"
#include "sim/training/kept_strip.hpp"
#include "sim/training/recorder.hpp"

namespace sim {

struct WholeCell;

/// Why a machine does not start: the one that everybody at the plant sees first.
enum class StartRefusal : std::uint8_t {
    no_machine,
    runs_already,
    isolated,        ///< locked out: there is no power
    emergency_stop,  ///< latched
    link_stopped,    ///< the end that commands the drive uses substitute values
    stop_asked_for,  ///< by a signal
};

/// Something that happened, for the log and the time line.
struct BenchEvent {
    enum class Kind : std::uint8_t {
        changed,       ///< an end changed its state
        acknowledged,  ///< it counted
        acknowledged_in_vain,
        contact_stuck,  ///< the button was pressed, but its contact does not open any more
        machine_started,
        machine_not_started,  ///< `detail`: the StartRefusal
        machine_commanded,    ///< the drive was commanded: `detail` is the DriveCommand
        demanded,
        released,
        reset,           ///< a safeguard: `detail`
        emergency_stop,  ///< pressed, or with `detail` 0 pulled again
        isolated,        ///< and locked, or with `detail` 0 given back
        fault,           ///< the truth: a fault (`detail`) first touched something
        refused,         ///< an end refused the other's parameters
        guard_asked,     ///< the truth: the scenario demanded a safeguard (`detail`), not somebody at the bench
        reached_in,      ///< somebody reaches through a safeguard (`detail`)
    };
    Kind kind = Kind::changed;
    Instant at{};
    End end = End::controller;
    std::optional<proto::Transition> transition = {};
    std::size_t detail = 0;
    [[nodiscard]] bool secret() const { return kind == Kind::fault || kind == Kind::guard_asked; }
};

/// One end as a technician meets it.
struct Panel {
    std::string name;
    proto::State state = proto::State::start_up;
    std::optional<proto::Cause> cause;      ///< of the last stop, or of the start
    std::optional<proto::Measure> measure;  ///< that the cause names
    Instant since{};                        ///< of this state
    proto::Counters counters;               ///< since `counted_since`
    Instant counted_since{};                ///< the begin of the record, or the end's own last start after it
    std::uint64_t received_per_second = 0;
    std::optional<Instant> last_good;
    Duration watchdog{};
    Duration longest_cycle{};
    Duration scan{};
    Instant on_since{};
    unsigned starts = 1;
    proto::Refusal refusal = proto::Refusal::none;
    bool asks_for_acknowledgement = false;
    bool dark = false;  ///< it has no supply: nothing of it can be read
};

/// A signal of the application: what its sender computes and what its receiver uses.
struct SignalShown {
    std::string name;
    Direction direction = Direction::to_device;
    bool sent = false, used = false;
    bool substitute = false;  ///< the receiver uses its substitute value
};

/// How a stop went on, from when the first end stopped.
struct RanOn {
    Duration to_command{};     ///< until the drive was commanded: the link's part
    Duration to_standstill{};  ///< from that command on: the machine's part
};

class Bench final : public BenchLine {
  public:
    static constexpr Duration sample_every = proto::milliseconds(50);
    static constexpr std::size_t samples_kept = 400;  ///< 20 s
    static constexpr std::size_t events_kept = 2000, first_events_kept = 500;
    static constexpr std::size_t faults_by_hand_max = 200;
    /// Samples around a moment are kept from so long before it to so long after it.
    static constexpr Duration strip_before = proto::seconds(2), strip_after = proto::seconds(3);
    static constexpr std::size_t demands_kept = 3;  ///< test demands around which samples are kept

    /// Requires a scenario that the reader has accepted.
    Bench(Scenario scenario, std::uint64_t seed);
    /// Several links, of which this is the bench of number `in_question`. Requires a cell as the reader gives it.
    Bench(const WholeCell& cell, std::size_t in_question, std::uint64_t seed);
    ~Bench();
    Bench(const Bench&) = delete;
    Bench& operator=(const Bench&) = delete;

    /// Runs up to that plant time; not backwards.
    void run_until(Instant end);
    [[nodiscard]] Instant now() const { return cell_->now(); }

    /// What was before is on no record: events and samples begin anew, and counters count from here.
    void begin_record();

    // ---- acts, each by itself; of several links at all of them, where none is named ----
    /// Presses the operator's button for a short while. Without effect on the machine.
    void acknowledge(std::optional<std::size_t> link = {});
    /// Presses start at the machine of that link, or of this; why it did not start anything, or nothing: it runs.
    std::optional<StartRefusal> start_machine(std::optional<std::size_t> link = {});
    /// A test demand, held for `test_lasting`; faults that wait for a demand begin with it.
    void demand(std::size_t safeguard);
    void reset(std::size_t safeguard);
    /// The hard-wired one, which latches and needs no link; false pulls it again, which starts nothing.
    void press_emergency_stop(bool pressed);
    /// Isolates the machine, locks it and tries to start it, which shows; false takes the lock off, which starts
    /// nothing. Without a machine nothing happens.
    void isolate(bool isolated);
    static constexpr Duration test_lasting = proto::seconds(2);

    // ---- the instructor's hand ----
    /// Puts a fault in at this link that begins after that time. False if it is one of too many, or asks for a
    /// neighbour that is not there.
    bool put_in(Fault fault, Duration after = {});
    /// The same for one that begins with the next demand on any guard.
    bool put_in_at_next_demand(Fault fault);
    /// Also of those that wait for a demand.
    void take_out_faults();

    // ---- readings ----
    [[nodiscard]] Panel panel(End end) const;
    /// The neighbour's end; nothing without one.
    [[nodiscard]] std::optional<Panel> neighbour(End end) const;
    [[nodiscard]] std::vector<SignalShown> signals() const;
    [[nodiscard]] bool machine_moves() const { return cell_->plant().machine_moves(now()); }
    [[nodiscard]] bool acknowledge_contact() const { return contact_; }
    /// Safeguards, machine, and whether a demand is still on its way to the machine's output.
    [[nodiscard]] const Plant& plant() const { return std::as_const(*cell_).plant(); }
    /// The link, with how both ends stand.
    [[nodiscard]] const LinkRun<BenchCell>& link() const { return std::as_const(*cell_).link(); }
    [[nodiscard]] const Recorder& recorder() const { return *recorder_; }
    [[nodiscard]] const std::deque<BenchEvent>& events() const { return events_; }
    [[nodiscard]] const BenchRecord& record() const { return record_; }
    [[nodiscard]] const Scenario& scenario() const { return *scenario_; }
    /// When an end first left `running`; nothing if it never did.
    [[nodiscard]] std::optional<Instant> first_stop(End end) const {
        return first_stops_[static_cast<std::size_t>(end)];
    }
    /// From the first stop of an end to standstill; nothing if the machine did not move then, or still does, or if its
    /// drive was not commanded since.
    [[nodiscard]] std::optional<RanOn> ran_on() const { return ran_on_; }
    /// From the output command to standstill by the machine's model: slowest reaction, from full speed.
    [[nodiscard]] std::optional<Duration> stopping_time() const { return stopping_time_; }

  private:
    friend class BenchWorks;
    Bench(Scenario scenario, std::uint64_t seed, std::string link_name, std::vector<bool> reads);
    template <class Act>
    void each(Act act) {
        for (Bench* const one : all_) act(*one);
    }
    [[nodiscard]] Instant own_stop_before(Instant end) const;
    void move_to(Instant end);
    void begin_own_record();
    void press_own_button();
    std::optional<StartRefusal> start_own_machine();

    void note(const Concluded& fact);
    void note(const Changed& fact);
    void note(const Acknowledged& fact);
    void note(const MachineTold& fact);
    void note(const Demanded& fact);
    void note(const Touched& fact);
    template <class Other>
    void note(const Other&) {}  // nothing that people see at a bench
    void happened(BenchEvent event);
    void forget_some_events();
    void keep_around_demand(Instant at);
    void drain();
    /// An end that was switched on tells it once it has its supply again.
    void tell_of_power();
    void sample();
    void let_go_when_due();
    /// Of one that has just refused to start.
    [[nodiscard]] StartRefusal why_not_started(const MachineModel& machine) const;
    [[nodiscard]] bool takes(const Fault& fault) const;
    void put_in_what_waits();
    void put_in_told_as(Fault fault, std::optional<std::size_t> told_as);
    void hold_demand(std::size_t safeguard, Duration lasting);
    void end_open_demand(std::size_t demand);

    std::unique_ptr<Scenario> scenario_;  ///< faults are added to it; it stays where it is
    EventLog log_;
    std::unique_ptr<Recorder> recorder_;
    std::unique_ptr<BenchCell> cell_;
    std::deque<BenchEvent> events_;
    std::array<std::optional<BenchEvent>, 2> powered_;  ///< by end: not told yet, since it is still dark
    BenchRecord record_;
    std::size_t demands_seen_ = 0;
    std::array<proto::Counters, 2> counted_before_, neighbour_before_;  ///< the record began, by End
    std::vector<Fault> at_next_demand_;
    bool demand_came_ = false;  ///< in what was drained last
    struct EndFacts {
        std::optional<proto::Cause> cause;
        std::optional<proto::Measure> measure;
        Instant since{}, on_since{};
        Instant dark_until{}, still_until{};  ///< without supply; it does not scan
        unsigned starts = 1;
    };
    std::array<EndFacts, 2> facts_;
    std::array<std::optional<Instant>, 2> first_stops_;
    std::vector<bool> touched_;
    std::size_t written_faults_ = 0;                   ///< of the scenario as it was given
    std::vector<std::optional<std::size_t>> told_as_;  ///< by fault: the one that it is told as, or none
    std::vector<bool> bridged_;                        ///< by safeguard
    std::vector<std::optional<Instant>> held_until_;   ///< test demands, by safeguard
    std::optional<Instant> let_go_at_;
    std::optional<Instant> stuck_from_;  ///< the contact stays closed from then on
    std::optional<Instant> stop_began_, stop_commanded_, last_commanded_;
    bool stop_moves_ = false;  ///< the machine, when the first end stopped
    std::optional<RanOn> ran_on_;
    std::optional<Duration> stopping_time_;
    bool contact_ = false;
    Instant next_sample_{};
};

}  // namespace sim
