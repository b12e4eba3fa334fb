// An end of a live link: its scan, its application, and the acts and faults that are its own.
#include <algorithm>
#include <utility>

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
          end_(scenario.end(which).link, 0, *this, tables_, scenario.use),
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
        if (const FailingEnd* f = clocks_.failing(which); f != nullptr && now < f->off_until) return;
        const std::uint64_t identity = identity_of_bytes(bytes);
        const std::uint64_t refused = end_.endpoint().counters().queue_full;
        end_.endpoint().receive(bytes, {identity});
        if (end_.endpoint().counters().queue_full == refused)
            log_.events.emplace_back(LoggedArrival{which, identity, now});
    }
    void forget() override { log_.events.clear(); }
    void finish(PartRecord& record) override {
        record.log = std::move(log_);
        record.scans = scans_;
        record.shown = {end_.endpoint().state(), end_.endpoint().refusal(), end_.endpoint().counters()};
    }

  private:
    // ---- host of the end, the station and the acts ----
    friend class EndRun<LiveEnd>;
    friend class Station<which, LiveEnd>;
    friend class Acts<LiveEnd>;
    template <class F>
    void tell(const F& fact) {
        if constexpr (lists<EventLog, F>) log_.hear(fact);
    }
    [[nodiscard]] Instant true_now() const { return now_; }
    [[nodiscard]] Plant& plant() { return plant_; }
    [[nodiscard]] Clocks& clocks() { return clocks_; }
    /// The other end's stop reaches this one as a stop of its own.
    [[nodiscard]] bool link_runs() const { return end_.running(); }
    [[nodiscard]] EndRun<LiveEnd>* end_here(End end) { return end == which ? &end_ : nullptr; }
    void end_changed(EndRun<LiveEnd>&, const proto::Transition& transition) {
        if (transition.to == proto::State::awaiting_acknowledgement && which == End::controller)
            acts_.operate(OperatorAct::Event::acknowledgement_requested);
        tell(Changed{which, transition, now_});
        acts_.end_changed(transition);
    }
    void end_acknowledged(EndRun<LiveEnd>&, bool counted) {
        acts_.acknowledged(counted);
        tell(Acknowledged{counted, now_});
    }
    void wake(End end, Instant at) { acts_.wake(end, at); }
    void drive(std::uint64_t signals) {
        if (which != plant_.output_end()) return;
        if (const auto act = plant_.drive(signals, end_.running(), now_))
            tell(MachineTold{act->command, now_, act->speeds_up});
    }
    template <End, class Look>
    void arrivals(Instant, Look) {}  // a socket's telegrams wait in the queue
    [[nodiscard]] LiveEnd& out() { return *this; }
    [[nodiscard]] Telegram& slot() { return telegram_; }
    void offer(const Telegram& telegram, Tag, Instant) { send_(proto::other(which), telegram.view()); }

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
};

}  // namespace

std::unique_ptr<LivePart> live_end(const Scenario& scenario, std::uint64_t seed, End end, LivePart::Send send) {
    if (end == End::controller) return std::make_unique<LiveEnd<End::controller>>(scenario, seed, std::move(send));
    return std::make_unique<LiveEnd<End::device>>(scenario, seed, std::move(send));
}

}  // namespace sim
