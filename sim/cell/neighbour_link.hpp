#pragma once
// The neighbour: a link like the one under rehearsal, joined to it where their wires meet, in one channel. Nobody
// judges it; its signals all say "no demand", the most tempting values that a stranger can bring. It has an operator of
// its own, who acknowledges whatever asks for it.
#include <cstdint>
#include <optional>

#include "sim/cell/agenda.hpp"
#include "sim/channel/channel.hpp"
#include "sim/link/link_run.hpp"
#include "sim/numeric/random.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

/// A fault of the scenario brings the neighbour's telegrams.
bool needs_neighbour(const Scenario& scenario);

class NeighbourLink {
  public:
    /// Requires a scenario that has one, and that outlives this.
    NeighbourLink(const Scenario& scenario, const std::optional<proto::CrcEngine>& tables);

    [[nodiscard]] const proto::Endpoint& endpoint(End end) const { return link_.end(end).endpoint(); }
    /// A telegram of its own arrives.
    void receive(const Passage& passage, const Telegram& telegram) {
        link_.end(passage.to_end).endpoint().receive(telegram.view(), passage.tag.token());
    }
    /// Both ends start at `now`.
    void begin(const Random& entropy, Instant now);
    /// A scan, or its operator's act.
    [[nodiscard]] Instant next_event() const;
    /// Does one thing that is due; what it sends goes into `channel`. Requires next_event() <= now.
    void do_next(Instant now, Channel& channel);

  private:
    friend class EndRun<NeighbourLink>;
    template <class F>
    void tell(const F&) {}  // nobody hears of it
    void end_changed(EndRun<NeighbourLink>& end, const proto::Transition& transition);
    void end_acknowledged(EndRun<NeighbourLink>&, bool) {}
    [[nodiscard]] Instant true_now() const { return now_; }
    [[nodiscard]] Instant next_scan(End end) const { return endpoint(end).next_deadline(); }
    template <End which>
    void scan(Instant now, Channel& channel);

    const Scenario& scenario_;
    LinkRun<NeighbourLink> link_;
    Agenda agenda_;
    Instant now_{};
};

}  // namespace sim
