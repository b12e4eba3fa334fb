#pragma once
// Virtual time: the two ends of the link, its neighbour, the channel with its faults, the plant and the observer,
// moved from event to event. There is no world-wide queue: the next event is the least of a few deadlines, and only
// the channel keeps a small sorted array.
//
//   application - endpoint - channel with fault stages - endpoint - application - machine
//                     \________________ observer _______________/
#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <vector>

#include "sim/channel/channel.hpp"
#include "sim/channel/fault_stages.hpp"
#include "sim/judge/observer.hpp"
#include "sim/judge/telegram_trace.hpp"
#include "sim/judge/teller.hpp"
#include "sim/link/end_of_link.hpp"
#include "sim/link/failing_end.hpp"
#include "sim/link/strays.hpp"
#include "sim/plant/machine.hpp"
#include "sim/plant/safeguard.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

/// later: none yet, but the world is made ready for put_in_faults_and_demands(). by_hand: the scenario's own, and ready
/// for any that put_in() brings while it runs; a neighbour that the scenario has runs, needed or not.
enum class WithFaults : std::uint8_t { no, yes, later, by_hand };

/// Which parts of the link a world runs itself; the rest is elsewhere, behind a carrier.
struct Parts {
    bool controller = true, channel = true, device = true;
};

/// Takes telegrams where the world does not bring them by itself: onto a network.
class Carrier {
  public:
    /// An end of this world sent a telegram.
    virtual void carry(End from, std::span<const std::uint8_t> bytes, Instant now) = 0;

  protected:
    ~Carrier() = default;
};

/// Sees what happens on the link under rehearsal, at once: for a bench that people read. May not act on the world.
class Onlooker {
  public:
    /// An end sent a telegram; `instance` counts what that end produced, the same again for a repetition.
    virtual void sent(End from, std::span<const std::uint8_t> bytes, std::uint64_t instance, Instant now) = 0;
    /// A telegram reached an end that is switched on.
    virtual void arrived(End at, std::span<const std::uint8_t> bytes, Tag tag, Instant now) = 0;
    virtual void scanned(End end, Instant now) = 0;

  protected:
    ~Onlooker() = default;
};

class World final : public EndListener, private Surroundings, private PassageListener {
  public:
    /// Requires a scenario that the reader has accepted; it must outlive the world.
    World(const Scenario& scenario, std::uint64_t seed, WithFaults faults, const Limits& limits);

    /// As if made anew for the faults, the demands and the operator's acts that the scenario now has; all else in it
    /// must be as it was, but for what Channel::begin_again() allows. Costs a fraction of a new one.
    void begin_again(std::uint64_t seed, WithFaults faults, const Limits& limits);
    /// Puts in the scenario's faults and demands while the world runs, for one that began WithFaults::later and without
    /// demands. Only the times of the faults may have changed since, and none may lie before now().
    void put_in_faults_and_demands();
    /// What stray telegrams are taken from in a world that begins WithFaults::later; see earlier_start().
    void know_earlier_start(std::array<std::vector<Past>, 2> strays) { stages_.strays = std::move(strays); }

    /// Runs every event before `end`, in virtual time.
    void run_until(Instant end);
    /// From now on `trace` hears what becomes of the telegrams, until it is full; nullptr: nobody does.
    void tell(TelegramTrace* trace);

    /// `line` hears of every change from now on; it must outlive the world.
    void draw(TimeLine& line) { teller_.draw(line); }

    // ---- for a driver with a clock: it brings telegrams and calls run_due() when something is due ----
    /// Runs only these parts; what they send goes to `carrier`, what there is to tell goes into `log`. Both must
    /// outlive the world. Requires a scenario whose faults have no condition. Starts the ends anew at `now`, before
    /// anything ran; `entropy` must be different each time.
    void run_only(Parts parts, Carrier& carrier, JudgeLog& log, std::uint64_t entropy, Instant now);
    /// When run_due() is next wanted: a scan, or somebody's act. Telegrams in the channel are the driver's.
    [[nodiscard]] Instant next_own_event() const;
    /// Runs scans and acts that are due at `now`, each at the true time `now`; the latest of them was due so long ago.
    Duration run_due(Instant now);
    /// From now on the bytes of every telegram that the log says was offered or delivered are appended to `bytes`,
    /// which must outlive the world.
    void keep_bytes(std::vector<std::uint8_t>& bytes) { kept_bytes_ = &bytes; }
    /// A telegram arrived at an end.
    void arrive(End end, std::span<const std::uint8_t> bytes);
    /// A telegram of the link under rehearsal arrived at the channel.
    void arrive_at_channel(Direction direction, std::span<const std::uint8_t> bytes, Instant now);
    [[nodiscard]] Instant next_delivery() const { return channel_.next_due(); }
    /// The next telegram to be delivered to an end of the link under rehearsal, or nothing if it went to the neighbour.
    /// Requires next_delivery() <= now.
    std::optional<End> deliver_next(std::span<std::uint8_t, proto::telegram_bytes_max> out, std::size_t& size,
                                    Instant now);

    // ---- for a bench: people look on and act while it runs ----
    /// From now on `onlooker` sees every telegram and scan, and what there is to tell goes into `log` instead of to the
    /// observer; both must outlive the world. Only for a world that began WithFaults::by_hand.
    void be_watched(Onlooker& onlooker, JudgeLog& log);
    /// Puts in the fault of that index, which the scenario now has. Requires a begin by a time that is not before
    /// now(). Only for a world that is watched.
    void put_in(std::size_t fault);
    /// Takes every fault out; what one has already done stays done.
    void take_out_faults();
    /// The operator's acknowledgement contact.
    void set_acknowledge(proto::Endpoint::Contact contact);
    /// A demand on that safeguard begins, or ends, at its sensor. Each end belongs to a begin.
    void demand_by_hand(std::size_t safeguard);
    void release_by_hand(std::size_t safeguard);
    void reset_by_hand(std::size_t safeguard);
    /// The hard-wired emergency stop of the machine, which latches: a stop of category 0 past the link and its signals.
    void press_emergency_stop(bool pressed);
    [[nodiscard]] const SafeguardModel& safeguard(std::size_t index) const { return safeguard_models_[index]; }
    /// Signals as the end last used them; one bit for each signal of the scenario.
    [[nodiscard]] std::uint64_t used(End end) const { return sides_[static_cast<std::size_t>(end) & 1].used; }
    /// Signals as the end last computed them, for those that it sends.
    [[nodiscard]] std::uint64_t computed(End end) const { return sides_[static_cast<std::size_t>(end) & 1].sent; }
    /// nullptr without a machine.
    [[nodiscard]] const MachineModel* machine() const { return machine_ ? &*machine_ : nullptr; }
    /// An end of the neighbour link; nullptr if that does not run.
    [[nodiscard]] const proto::Endpoint* neighbour(End end) const {
        const auto& found = end == End::controller ? neighbour_controller_ : neighbour_device_;
        return found ? &found->endpoint() : nullptr;
    }
    /// What an end's own clock says now.
    [[nodiscard]] Instant clock_of(End end) const { return local(end, now_); }

    // ---- for a driver that passes over quiet periods, see endurance.hpp; without faults and demands ----
    [[nodiscard]] Channel& channel() { return channel_; }
    /// When somebody next acts.
    [[nodiscard]] Instant next_act() const { return next_timer_; }
    /// Sums up how both ends and what is on the way stand, relative to now(): equal values mean that, with ordinary
    /// telegrams, the same will happen again. Nothing where something is not in order.
    [[nodiscard]] std::optional<std::uint64_t> standing() const;
    /// What one quiet period does.
    struct Period {
        std::array<proto::QuietPeriod, 2> ends;    ///< by End
        std::array<std::uint64_t, 2> telegrams{};  ///< offered, by Direction
        std::uint64_t cycles = 0;
    };
    /// As if `periods` of these had passed since the last event. Requires that one has just passed, that nobody acts in
    /// the time and that the channel's telegrams were foreseen.
    void skip(std::uint64_t periods, const Period& period);

    /// From now on no fault acts and no demand comes, and the operator acknowledges whatever asks for it.
    void calm_down();
    /// Both ends running.
    [[nodiscard]] bool running() const { return observer_.both_running(); }
    /// Neither end running.
    [[nodiscard]] bool ends_stopped() const {
        return controller_.endpoint().state() != proto::State::running &&
               device_.endpoint().state() != proto::State::running;
    }
    /// Somebody tries to start the machine now; false if it still is not started.
    bool try_to_start_machine();
    /// Moving, or about to; false without a machine.
    [[nodiscard]] bool machine_moves() const { return machine_moves(now_); }
    /// What was seen so far; the world may not run on afterwards.
    void finish(RunResult& result, Instant now);
    /// After the first stop the machine never moved but by a deliberate start.
    [[nodiscard]] bool moved_by_itself() const { return moved_by_itself_; }
    [[nodiscard]] std::uint64_t cycles() const { return cycles_; }
    [[nodiscard]] Instant now() const { return now_; }
    [[nodiscard]] const proto::Endpoint& endpoint(End end) const {
        return end == End::controller ? controller_.endpoint() : device_.endpoint();
    }
    [[nodiscard]] const Observer& observer() const { return observer_; }

    void concluded(std::uint8_t link, End end, proto::Token token, const proto::Verdict& verdict, Instant now) override;
    void changed(std::uint8_t link, End end, const proto::Transition& transition, Instant now) override;
    void acknowledged(std::uint8_t link, End end, bool counted, Instant now) override;
    void refused(std::uint8_t link, End end, proto::Refusal refusal, const proto::LinkParameters& theirs,
                 Instant now) override;

  private:
    [[nodiscard]] proto::State state(End end) const override { return endpoint(end).state(); }
    void befell(const Tag& tag, Fate fate) override;
    [[nodiscard]] bool machine_moves(Instant now) const override { return machine_ && machine_->moving(now); }
    [[nodiscard]] std::int64_t machine_position(Instant now) const override;
    [[nodiscard]] std::uint64_t happened(FaultCondition::Event event, Instant now) const override;

    enum class TimerKind : std::uint8_t {
        demand_begins,
        demand_ends,
        press,
        let_go,
        start_machine,
        end_fails,
        end_mends,
        output_watchdog,
        safeguard_check,
        safeguard_reset,
        hand_in,
        hand_out
    };
    struct Timer {
        Instant at;
        std::uint64_t order;
        TimerKind kind;
        std::uint8_t link;
        std::size_t index;
    };
    /// What one end of the link under rehearsal last computed.
    struct Side {
        std::uint32_t revision = 0;
        bool stale = true;       ///< must be computed anew
        bool told = false;       ///< accepted or changed in this scan
        std::uint64_t used = 0;  ///< signals received, as used
        std::uint64_t sent = 0;  ///< signals computed
    };

    /// Compiled for each end, so that nothing in it asks which one it is.
    template <End which>
    void scan(Instant now);
    void scan_neighbour(EndOfLink& end, Instant now);
    void start_ends(std::uint64_t entropy, Instant now);
    void begin(WithFaults faults);
    void put_in_faults();
    /// To be called when one of those that `aside_` and `specially_` speak of has changed.
    void know_who_looks_on();
    void put_in_fault(std::size_t index);
    void put_in_demands();
    void mend_ends();
    [[nodiscard]] bool link_runs() const;
    template <End from>
    void transmit(EndOfLink& end, std::uint8_t link, std::uint64_t signals, Instant now);
    void transmit(EndOfLink& end, std::uint64_t signals, Instant now);
    void deliver();
    void deliver_specially();
    void note_at_channel(JudgeRecord record, std::span<const std::uint8_t> bytes);
    /// True if the telegram went to a carrier.
    bool hand_aside(End from, std::span<const std::uint8_t> bytes, std::uint64_t instance, Instant now);
    void handshake_concluded(End end, Instant now);
    void drive(std::uint64_t signals, Instant now);
    void fire(const Timer& timer, Instant now);
    void at(Instant when, TimerKind kind, std::uint8_t link, std::size_t index);
    void safeguard_changed(std::size_t safeguard);
    void begin_to_fail(std::size_t fault, Instant now);
    void fail(std::size_t fault, Instant now);
    void mend(std::size_t fault, Instant now);
    void switch_off(End end, Instant now);
    void read_frozen(EndOfLink& end, Instant now);
    void operate(OperatorAct::Event event, std::uint8_t link, Instant now);
    [[nodiscard]] Side& side(End end) { return sides_[static_cast<std::size_t>(end) & 1]; }
    EndOfLink& end_of(std::uint8_t link, End end);
    [[nodiscard]] FailingEnd* failing(End end) {
        return failing_ ? &(*failing_)[static_cast<std::size_t>(end)] : nullptr;
    }
    [[nodiscard]] FailingEnd& failing_end_of(End end) {
        FailingEnd* found = failing(end);
        proto::require(found != nullptr, "no end of this scenario fails");
        return *found;
    }
    /// When an end of the link under rehearsal is next scanned, in true time.
    [[nodiscard]] Instant deadline(const EndOfLink& end) const {
        const Instant own = end.endpoint().next_deadline();
        return __builtin_expect(failing_ == nullptr, 1) ? own : failing_deadline(end.end(), own);
    }
    /// What an end's clock says at `now`.
    [[nodiscard]] Instant local(End end, Instant now) const {
        return __builtin_expect(failing_ == nullptr, 1) ? now : drifting(end, now);
    }
    // not inline: their divisions would take the registers from ends that do not fail
    [[nodiscard]] Instant failing_deadline(End end, Instant own) const;
    [[nodiscard]] Instant drifting(End end, Instant now) const;

    const Scenario& scenario_;
    Observer observer_;
    Teller teller_{observer_};
    Parts parts_;
    Carrier* carrier_ = nullptr;
    Onlooker* onlooker_ = nullptr;
    JudgeLog* log_ = nullptr;
    std::vector<std::uint8_t>* kept_bytes_ = nullptr;
    TelegramTrace* trace_ = nullptr;
    bool aside_ = false;                                  ///< there is a carrier, an onlooker or a trace
    bool specially_ = false;                              ///< an end may fail, or there is an onlooker or a trace
    std::unique_ptr<std::array<FailingEnd, 2>> failing_;  ///< only where an end is to fail
    std::uint64_t seed_;
    std::uint64_t offered_ = 0;  ///< telegrams that arrived at the channel from outside
    Channel channel_;
    StageContext stages_;
    std::optional<proto::CrcEngine> tables_;
    EndOfLink controller_, device_;
    std::unique_ptr<EndOfLink> neighbour_controller_, neighbour_device_;
    std::unique_ptr<EndOfLink> idle_neighbour_controller_, idle_neighbour_device_;  ///< made for an earlier beginning
    Application controller_application_, device_application_;
    std::array<Side, 2> sides_;
    std::optional<MachineModel> machine_;
    End output_end_ = End::device;
    std::vector<std::size_t> waiting_;  ///< faults of ends whose time has come, and which wait for the machine to move
    std::uint64_t safe_states_ = 0, acknowledgements_ = 0;  ///< of either end; those that counted
    std::uint64_t reactions_ = 0;                           ///< signals that the machine obeys
    std::uint64_t safeguards_ = ~std::uint64_t{0};
    std::array<std::uint64_t, 64> safeguard_users_{};
    std::vector<SafeguardModel> safeguard_models_;
    std::vector<Timer> timers_;  ///< sorted, the next one last
    std::uint64_t timer_order_ = 0;
    Instant next_timer_ = proto::never;
    Instant next_neighbour_ = proto::never;
    std::array<std::uint64_t, lane_count> instances_{};  ///< made so far, by link and direction
    std::array<std::uint32_t, 2> connections_{};
    bool were_running_ = false;
    bool calm_ = false;
    bool moved_by_itself_ = false;
    std::uint64_t cycles_ = 0;
    Instant now_{};
};

}  // namespace sim
