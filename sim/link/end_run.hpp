#pragma once
// One end of a link while it runs: its endpoint, what it last used and what it last sent. It knows no other end, no
// scan time and no application: whoever owns the scan tells it when, and moves values between it and the application.
//
// Host: what the end is in. It offers
//   void tell(const Fact&)                       the facts of link 0, see sim/judge/heard.hpp
//   void end_changed(EndRun&, const Transition&)
//   void end_acknowledged(EndRun&, bool counted)
//   Instant true_now()                           endpoints report by their own clock, which may drift
#include <cstdint>
#include <optional>
#include <utility>

#include "proto/contract.hpp"
#include "proto/endpoint.hpp"
#include "sim/channel/passage.hpp"
#include "sim/judge/events.hpp"

namespace sim {

template <class Host>
class EndRun final : private proto::EventSink {
  public:
    /// Requires settings that the reader has found possible. `place`: which of the two ends it is, whatever role its
    /// settings give it.
    EndRun(End place, const proto::LinkSettings& settings, std::uint8_t link, Host& host,
           const std::optional<proto::CrcEngine>& tables, proto::ProfileUse use)
        : host_(host), link_(link), end_(place), endpoint_(make(settings, *this, tables, use)) {}
    EndRun(const EndRun&) = delete;
    EndRun& operator=(const EndRun&) = delete;
    ~EndRun() = default;

    [[nodiscard]] proto::Endpoint& endpoint() { return endpoint_; }
    [[nodiscard]] const proto::Endpoint& endpoint() const { return endpoint_; }
    [[nodiscard]] End end() const { return end_; }
    [[nodiscard]] std::uint8_t link() const { return link_; }
    [[nodiscard]] bool running() const { return endpoint_.state() == proto::State::running; }

    /// Signals as the application last used them, and as it last computed them for those that this end sends.
    [[nodiscard]] std::uint64_t used() const { return now_.used; }
    [[nodiscard]] std::uint64_t computed() const { return now_.sent; }
    /// Fresh process telegrams that it made in this run.
    [[nodiscard]] std::uint64_t made() const { return made_; }

    /// The begin of a run: everything at this end is as it was at first.
    void begin(Instant local, Duration phase, std::uint64_t entropy) {
        now_ = {};
        connections_ = 0;
        made_ = 0;
        endpoint_.start(local, phase, entropy);
    }
    /// Power on again, while the run goes on: what it made before still counts.
    void restart(Instant local, Duration phase, std::uint64_t entropy) {
        endpoint_.start(local, phase, entropy);
        connections_ = 0;
        now_ = {};
    }
    /// Other settings were typed at it: they count from its next restart() on, which has to follow before it is
    /// scanned. Requires settings that a reader would take, of the same profile, payload lengths and cycle.
    void retype(const proto::LinkSettings& settings, const std::optional<proto::CrcEngine>& tables,
                proto::ProfileUse use) {
        endpoint_ = make(settings, *this, tables, use);
    }

    // ---- for the owner of the scan ----
    /// What the application has to do in this scan.
    [[nodiscard]] bool stale() const { return now_.stale || endpoint_.input_revision() != now_.revision; }
    void mark_stale() { now_.stale = true; }
    /// The application used and computed these.
    void keep(std::uint64_t used, std::uint64_t sent) {
        now_.stale = false;
        now_.revision = endpoint_.input_revision();
        now_.used = used;
        now_.sent = sent;
    }
    void switch_off() {
        now_.used = 0;
        now_.stale = true;
    }
    /// True once after a telegram was accepted or the state changed.
    [[nodiscard]] bool told() const { return now_.told; }
    bool take_told() { return std::exchange(now_.told, false); }

    /// One scan: the watchdog first, then every telegram that waits; `arrivals(look)` calls look(bytes, token) for each
    /// that the end has not in its queue.
    template <End which, class Arrivals>
    [[gnu::always_inline]] void take(Instant local, Arrivals arrivals);
    /// Sends what is due in this scan into `out`: slot() for the bytes, offer(telegram, tag, now) when they are there.
    /// `signals` is the truth about what is sent.
    template <End which, std::uint8_t link, class Out>
    [[gnu::always_inline]] void give(std::uint64_t signals, Instant local, Instant now, Out& out);

    /// As if periods had passed in which nothing happened but ordinary telegrams.
    void passed_over() {
        // with the bytes of each pair exchanged, an input counts as new each time
        if (!now_.stale) now_.revision = endpoint_.input_revision();
    }

  private:
    /// What begins anew with the end.
    struct Now {
        std::uint32_t revision = 0;
        bool stale = true;       ///< must be computed anew
        bool told = false;       ///< accepted or changed in this scan
        std::uint64_t used = 0;  ///< signals received, as used
        std::uint64_t sent = 0;  ///< signals computed
    };

    static proto::Endpoint make(const proto::LinkSettings& settings, proto::EventSink& sink,
                                const std::optional<proto::CrcEngine>& tables, proto::ProfileUse use) {
        auto made = proto::Endpoint::make(settings, sink, use, tables);
        proto::require(made.ok(), "an endpoint of impossible settings: the scenario's reader should have refused them");
        return std::move(made).value();
    }
    template <End which>
    [[gnu::always_inline]] void conclude(proto::Token token, const proto::Verdict& verdict);
    [[gnu::noinline]] void handshake_concluded() {
        const std::uint32_t connections = endpoint_.connections();
        if (connections == connections_) return;
        connections_ = connections;
        host_.tell(
            Connected{end_ == End::controller ? Direction::to_device : Direction::to_controller, host_.true_now()});
    }

    void concluded(proto::Token, const proto::Verdict&, Instant) override {}  // take() tells it; of link 1 nobody asks
    void changed(const proto::Transition& transition, Instant) override {
        now_.told = true;
        host_.end_changed(*this, transition);
    }
    void acknowledged(bool counted, Instant) override { host_.end_acknowledged(*this, counted); }
    void refused(proto::Refusal, const proto::LinkParameters&, Instant) override {}  // it stays readable at the end

    Host& host_;
    std::uint8_t link_;
    End end_;
    Now now_;
    std::uint32_t connections_ = 0;
    std::uint64_t made_ = 0;  ///< fresh process telegrams of this run
    proto::Endpoint endpoint_;
};

}  // namespace sim
