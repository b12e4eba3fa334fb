// An end of a live link: its scan, its application, and the acts and faults that are its own.
#include <algorithm>
#include <optional>
#include <type_traits>
#include <utility>
#include <variant>
#include <vector>

#include "sim/cell/acts_body.hpp"
#include "sim/cell/wiring.hpp"
#include "sim/judge/event_log.hpp"
#include "sim/judge/heard.hpp"
#include "sim/link/station_body.hpp"
#include "sim/live/live_part.hpp"

namespace sim {
namespace {

template <End which>
class LiveEnd final : public LivePart {
  public:
    LiveEnd(const Scenario& scenario, std::uint64_t seed, Send send)
        : scenario_(scenario),
          send_(std::move(send)),
          plant_(scenario),
          tables_(crc_tables(scenario)),
          end_(which, as_played(scenario.end(which)), 0, *this, tables_, scenario.use),
          station_(scenario, end_, *this),
          acts_(scenario, *this) {
        acts_.begin(seed);
        for (std::size_t i = 0; i < scenario.faults.size(); ++i) {
            proto::require(!scenario.faults[i].when.any(), "a fault's condition is known to a whole cell only");
            if (scenario.faults[i].at_end == which) acts_.put_in_fault(i);
        }
        acts_.put_in_demands();
        acts_.operate(OperatorAct::Event::time);
    }

    void start(std::uint64_t entropy, Instant now) override {
        now_ = now;
        const Random draws(entropy, Concern::entropy);
        const bool controller = which == End::controller;
        end_.begin(now, controller ? Duration{} : scenario_.device_phase, draws.at(controller ? 0 : 1));
    }
    [[nodiscard]] Instant next_event() const override { return std::min(acts_.agenda().next(), station_.next_scan()); }
    Duration do_due(Instant now) override {
        now_ = now;
        while (acts_.agenda().next() <= now) acts_.do_next();
        const Instant due = station_.next_scan();
        if (due > now) return {};
        ++scans_;
        station_.scan(now);
        return now - due;
    }
    void arrive(Direction, std::span<const std::uint8_t> bytes, Instant now) override {
        const std::uint64_t identity = identity_of_bytes(bytes);
        const FailingEnd* f = clocks_.failing(which);
        const bool off = f != nullptr && now < f->off_until;
        const std::uint64_t refused = end_.endpoint().counters().queue_full;
        if (!off) end_.endpoint().receive(bytes, {identity});
        const bool waits = !off && end_.endpoint().counters().queue_full == refused;
        log_.events.emplace_back(LoggedArrival{which, identity, now, waits});
    }
    void take_up(const PartRecord& before, std::uint64_t entropy) override {
        proto::require(!before.absences.empty(), "a part that goes on with a run was away");
        start(entropy, Instant{});
        scans_ = before.scans;
        silent_ = true;
        replay(before.log.events);
        // the restart is a fault of this scenario: from its time on there is something to tell
        const Absence& away = before.absences.back();
        acts_before(away.from);
        silent_ = false;
        while (acts_.agenda().next() <= away.until) do_act();
    }
    void forget() override { log_.events.clear(); }
    void move_to(PartRecord& record) override {
        auto& events = record.log.events;
        events.insert(events.end(), log_.events.begin(), log_.events.end());
        log_.events.clear();
    }
    [[nodiscard]] PartShown shown() const override {
        return {EndShown{end_.endpoint().state(), end_.endpoint().refusal(), end_.endpoint().counters()}, end_.used(),
                end_.computed(), last_good_, scans_};
    }

  private:
    // ---- host of the end, the station and the acts ----
    friend class EndRun<LiveEnd>;
    friend class Station<which, LiveEnd>;
    friend class Acts<LiveEnd>;
    template <class F>
    void tell(const F& fact) {
        if constexpr (std::is_same_v<F, Concluded>)
            if (fact.verdict.kind == proto::Verdict::Kind::fresh) last_good_ = fact.at;
        if constexpr (std::is_same_v<F, Sent>) again_ = fact.kind == proto::Transmission::Kind::again;
        if constexpr (lists<EventLog, F>)
            if (!silent_) log_.hear(fact);
    }
    void do_act() {
        now_ = acts_.agenda().next();
        acts_.do_next();
    }
    void acts_before(Instant at) {
        while (acts_.agenda().next() < at) do_act();
    }
    /// What an earlier start wrote down happens once more, so that machine and guards are as they were, and people do
    /// what they had begun to do.
    void replay(const std::vector<Event>& events) {
        for (const Event& event : events) {
            acts_before(time_of(event));
            now_ = time_of(event);
            if (const auto* changed = std::get_if<Changed>(&event)) {
                ran_before_ = changed->transition.to == proto::State::running;
                heard_of(changed->transition);
            }
            if (const auto* acknowledged = std::get_if<Acknowledged>(&event)) acts_.acknowledged(acknowledged->counted);
            if (which != plant_.output_end()) continue;
            if (const auto* use = std::get_if<InUse>(&event)) plant_.drive(use->signals, ran_before_, now_);
            if (std::holds_alternative<OutputsOff>(event)) plant_.drive(0, ran_before_, now_);
            // started by an act that was replayed; else a moment earlier than it was noted
            const auto* told = std::get_if<MachineTold>(&event);
            if (told != nullptr && !told->command && !plant_.machine_moves(now_)) plant_.start_machine(now_);
        }
    }
    /// What people do about a change of this end.
    void heard_of(const proto::Transition& transition) {
        if (transition.to == proto::State::awaiting_acknowledgement && which == End::controller)
            acts_.operate(OperatorAct::Event::acknowledgement_requested);
        tell(Changed{which, transition, now_});
        acts_.end_changed(transition);
    }
    [[nodiscard]] Instant true_now() const { return now_; }
    [[nodiscard]] Plant& plant() { return plant_; }
    [[nodiscard]] Clocks& clocks() { return clocks_; }
    /// The other end's stop reaches this one as a stop of its own.
    [[nodiscard]] bool link_runs() const { return silent_ ? ran_before_ : end_.running(); }
    [[nodiscard]] EndRun<LiveEnd>* end_here(End end) { return end == which ? &end_ : nullptr; }
    void end_changed(EndRun<LiveEnd>&, const proto::Transition& transition) { heard_of(transition); }
    void end_acknowledged(EndRun<LiveEnd>&, bool counted) {
        acts_.acknowledged(counted);
        tell(Acknowledged{counted, now_});
    }
    void wake(End end, Instant at) { acts_.wake(end, at); }
    [[nodiscard]] static bool way_runs(std::size_t) { return true; }
    std::uint64_t elsewhere(const Application& application, std::uint64_t received) {
        return application.elsewhere(plant_.inputs(received));
    }
    void drive(std::uint64_t signals) {
        if (which != plant_.output_end()) return;
        if (const auto act = plant_.drive(signals, end_.running(), now_))
            tell(MachineTold{act->command, now_, act->speeds_up});
    }
    template <End, class Look>
    void arrivals(Instant, Look) {}  // a socket's telegrams wait in the queue
    [[nodiscard]] LiveEnd& out() { return *this; }
    [[nodiscard]] Telegram& slot() { return telegram_; }
    void offer(const Telegram& telegram, Tag, Instant) {
        constexpr Direction way = which == End::controller ? Direction::to_device : Direction::to_controller;
        if (again_) log_.events.emplace_back(LoggedRepeat{way, identity_of_bytes(telegram.view()), now_});
        send_(proto::other(which), telegram.view());
    }

    const Scenario& scenario_;
    Send send_;
    EventLog log_;
    Plant plant_;
    Clocks clocks_;
    std::optional<proto::CrcEngine> tables_;
    EndRun<LiveEnd> end_;
    Station<which, LiveEnd> station_;
    Acts<LiveEnd> acts_;
    Telegram telegram_;
    Instant now_{};
    std::uint64_t scans_ = 0;
    bool again_ = false;  ///< what is sent now was sent before: of that the log hears nothing
    std::optional<Instant> last_good_;
    bool silent_ = false;      ///< what happens was written down before
    bool ran_before_ = false;  ///< the link, as was written down
};

}  // namespace

std::unique_ptr<LivePart> live_end(const Scenario& scenario, std::uint64_t seed, End end, LivePart::Send send) {
    if (end == End::controller) return std::make_unique<LiveEnd<End::controller>>(scenario, seed, std::move(send));
    return std::make_unique<LiveEnd<End::device>>(scenario, seed, std::move(send));
}

}  // namespace sim
